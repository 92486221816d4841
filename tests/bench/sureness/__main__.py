"""Fits how sure a recognition is, and checks it: `python -m tests.bench.sureness [--out FILE]`."""

import argparse
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import msgspec

from assistant.app.application import Application, open_application
from assistant.asr.confidence import ALONE, BOTH, Confidence, in_the_moment
from assistant.asr.network import Listening
from assistant.config.home import Home
from tests.bench.hearing.real import MISSING
from tests.bench.hearing.sentences import Part
from tests.bench.sureness import gather
from tests.bench.sureness.fit import decisions, fitted, moment_of, reliability
from tests.bench.sureness.gather import Row

NETWORKS: dict[Listening, Confidence] = {
    "both": BOTH,
    "kitchen": ALONE["kitchen"],
    "packaged": ALONE["packaged"],
}
INTRODUCTION = """\
Made by `python -m tests.bench.sureness`; nothing here is typed by hand.

Fitted to the part `tune` of the hearing benchmark (its voices, noises, sentences and batches), to what the
grammar has of the tuning half of the listed phrasings by those voices and to its near misses, and to people
of the split `dev` of the general speech: single words and sentences as talk that may not be acted on, and
sentences in a grammar of such sentences, in which every fourth lacks. Checked on the part `test` and the
split `test`: other voices, noises, sentences and people. Talk falls into a simulated batch at any moment.
"""


def main() -> None:
    """Gather, fit, check, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.sureness", description=__doc__)
    parser.add_argument("--rows", type=Path, help="folder that keeps what was heard for the next run")
    parser.add_argument("--out", type=Path, help="write the tables into this file too")
    parser.add_argument("--networks", choices=[*NETWORKS], nargs="*", default=["kitchen"])
    given = parser.parse_args()
    if gather.people_folder() is None:
        parser.error(f"{MISSING}; the folder speech_general lies beside it (CRUMBCALL_SPEECH_GENERAL)")
    with tempfile.TemporaryDirectory() as folder:
        text = "# How sure a recognition is\n\n" + INTRODUCTION
        for networks in given.networks:
            text += section(networks, given.rows or Path(folder), Path(folder))
    print(text)
    if given.out is not None:
        given.out.write_text(text, encoding="utf-8")


def section(networks: Listening, kept: Path, home: Path) -> str:
    """The fit and the check of one way to listen."""
    app = listening(open_application(Home.find(home)), networks)
    tuned, others = (heard(app, part, kept / f"{networks}_{part}.jsonl") for part in ("tune", "test"))
    found = fitted(tuned)
    act_above = app.settings.recogniser.act_above
    shipped = NETWORKS[networks]

    def by(confidence: Confidence) -> Callable[[Row], float]:
        def sure(row: Row) -> float:
            p = confidence.probability(row.evidence)
            return p if row.surprise is None else in_the_moment(p, row.surprise)

        return sure

    return "\n".join(
        [
            f"\n## {networks}\n",
            f"Fitted now: `{found}`, in the moment `{moment_of(tuned, found)}`. Shipped: `{shipped}`.\n",
            "Reliability of what ships, part `test`:\n",
            reliability(others, by(shipped)),
            f"What is done (acted on above {act_above:g}), part `test`:\n",
            decisions(others, by(shipped), act_above),
            "The same, part `tune`:\n",
            decisions(tuned, by(shipped), act_above),
        ]
    )


def listening(app: Application, networks: Listening) -> Application:
    """The application with these networks."""
    recogniser = msgspec.structs.replace(app.settings.recogniser, weights=networks)
    settings = msgspec.structs.replace(app.settings, recogniser=recogniser)
    return replace(app, settings=settings)


def heard(app: Application, part: Part, file: Path) -> list[Row]:
    """What is heard of a part; kept in a file."""
    if not file.is_file():
        gather.save(gather.rows(app, part, gather.SIZE if part == "tune" else gather.CHECKED), file)
    return gather.load(file)


if __name__ == "__main__":
    main()

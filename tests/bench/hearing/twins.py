"""What asking about a number's twin costs and saves: `python -m tests.bench.hearing.twins`.

Without sound: of the entries of simulated batches, all heard clearly in quiet, how many are asked about. With
sound: entries whose number has a twin, and what comes of each, for several ways to ask. With real recordings:
how often a number was heard as its twin, in which direction, and how far behind the number itself was.
"""

import argparse
import csv
import itertools
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from assistant.app.application import Application, open_application
from assistant.audio.files import read_sound
from assistant.batch.decide.decide import Said, decide
from assistant.batch.decide.making.mishearing import are_twins, twin
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.commands import Command
from assistant.config.home import Home
from assistant.nlu.rescoring import MARGIN, TWIN_LEADS, is_twin_near
from assistant.ports import Asking, Pcm, Recognition, Sound
from tests.bench.hearing.cooks import Moment, moments
from tests.bench.hearing.corpora import Maker, Size, as_case
from tests.bench.hearing.hearing import OUTCOMES, TwinNear, as_meant, listen, outcome
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.real import MISSING, speech_folder
from tests.bench.hearing.report import table
from tests.bench.hearing.sentences import Part
from tests.bench.hearing.sounds import mixed, noises
from tests.bench.hearing.voices import available

ENTRIES = (cmd.AddWater, cmd.AddFlour, cmd.MakeThat, cmd.Scrap)
WAYS: dict[str, TwinNear] = {
    "wherever the twin makes sense": lambda *_: True,
    "moment, margin, noise": is_twin_near,
    "moment and margin": lambda found, _: is_twin_near(found, None),
    "moment alone": lambda *_: False,
}
"""How it is found out whether the sound speaks for the twin; the second is the station's."""
SNRS = (None, 10, 5, 0)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.hearing.twins", description=__doc__)
    parser.add_argument("--part", choices=["tune", "test"], default="test")
    parser.add_argument("--moments", type=int, default=20_000, help="moments of simulated batches, no sound")
    parser.add_argument("--each", type=int, default=20, help="sentences a voice")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        application = open_application(Home.find(Path(folder)))
        print(by_rule(application, given.part, given.moments))
        print(by_ear(application, given.part, given.each))
        print(by_people(application, speech_folder()))


def entries(application: Application, part: Part) -> Iterator[Moment]:
    """Entries of simulated batches, without end."""
    said = moments(application.grammar, part, application.rules, application.recipes)
    return (m for m in said if isinstance(m.command, ENTRIES) and m.state.batch is not None)


def has_twin(moment: Moment) -> bool:
    """Whether the number of an entry has a twin."""
    command = moment.command
    return (
        isinstance(command, ENTRIES) and not command.amount.exact and twin(command.amount.value) is not None
    )


def by_rule(application: Application, part: Part, most: int) -> str:
    """Share of entries, all heard clearly, that are asked about for their twin."""
    said = moments(application.grammar, part, application.rules, application.recipes)
    counts = Counter[str]()
    for moment in itertools.islice(said, most):
        counts["all"] += 1
        if not isinstance(moment.command, ENTRIES) or moment.state.batch is None:
            continue
        counts["entries"] += 1
        counts["with a twin"] += has_twin(moment)
        for name, near in (("now", False), ("wherever it makes sense", True)):
            request = Said(moment.command, "voice", moment.text, twin_near=near)
            decision = decide(moment.state, request, moment.now, application.rules)
            reasons = [event.reason for event in decision.events if isinstance(event, ev.QuestionAsked)]
            counts[name] += reasons == ["twin"]
    rows = [
        [name, counts[name], Share(counts[name], counts["entries"]), Share(counts[name], counts["all"])]
        for name in ("entries", "with a twin", "wherever it makes sense", "now")
    ]
    return "Asked by rule, heard clearly:\n\n" + table(["", "n", "% of entries", "% of all commands"], rows)


def by_ear(application: Application, part: Part, each: int) -> str:
    """What comes of entries with a twin, by how near the twin counts as near."""
    voices = available(part)
    maker = Maker(application, part, speech_folder(), Size(0, 0, 0, SNRS, (), 0, 0))
    picked = itertools.islice(filter(has_twin, entries(application, part)), 0, 3 * each * len(voices), 3)
    recogniser = application.recogniser()
    results = [
        listen(application, recogniser, case)
        for case in maker.spread(voices, [as_case(moment) for moment in picked])
    ]
    rows = []
    for name, near in WAYS.items():
        kinds = [outcome(application, result, as_meant, twin_near=near) for result in results]
        counts = Counter(kinds)
        wrong = Counter(r.case.snr for r, kind in zip(results, kinds, strict=True) if kind == "wrong")
        where = ", ".join(f"{n} {snr}" for snr, n in wrong.items()) or "none"
        rows.append([name, *(Share(counts[kind], len(results)) for kind in OUTCOMES), where])
    return f"{len(results)} clips of entries with a twin:\n\n" + table(["asked", *OUTCOMES, "wrong at"], rows)


def by_people(application: Application, folder: Path | None) -> str:
    """Real numbers that have a twin, as answers to "how much?", in noise of the part `test`."""
    if folder is None:
        return MISSING
    recogniser, around, rows = application.recogniser(), noises("test", folder), []
    said = list(_numbers(application, folder))
    for snr in (99, 35, 30, 25, 20, 10):
        counts, behind = Counter[str](), list[float]()
        for turn, (value, pcm) in enumerate(said):
            for seed in range(1 if snr == 99 else 3):
                noise = None if snr == 99 else around[(turn + seed) % len(around)]
                found = recogniser.recognise(Sound(mixed(pcm, noise, snr, seed)), asking=Asking.AMOUNT)
                heard = found.meaning
                if not found.accepted or not isinstance(heard, cmd.GivenAmount):
                    continue
                kind = "teens" if value % 100 < 20 else "tys"
                counts[kind] += 1
                if heard.amount.value == twin(value):
                    counts[f"{kind} as twins"] += 1
                    behind.append(_behind(found))
        rows.append(
            [
                "quiet" if snr == 99 else f"{snr} dB",
                Share(counts["teens as twins"], counts["teens"]),
                Share(counts["tys as twins"], counts["tys"]),
                sum(one < TWIN_LEADS * MARGIN for one in behind),
            ]
        )
    head = [
        "noise",
        "-teen heard as -ty, %",
        "-ty heard as -teen, %",
        f"of these within {TWIN_LEADS:g} margins",
    ]
    return "Numbers of real people:\n\n" + table(head, rows)


def _behind(found: Recognition[Command]) -> float:
    """How far the twin of what was heard is behind; 20 where it is no rival."""
    heard = found.meaning
    twins = [
        rival.behind
        for rival in found.alternatives
        if heard is not None and rival.meaning is not None and are_twins(heard, rival.meaning)
    ]
    return min(twins, default=20.0)


def _numbers(application: Application, folder: Path) -> Iterator[tuple[float, Pcm]]:
    """Value and sound of each real recording of a number that has a twin."""
    with (folder / "manifest.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            if row["kind"] in ("number_word", "spliced_number", "number_string", "number_phrase"):
                meant = application.grammar.parse(row["transcript"], asking=Asking.AMOUNT)
                if isinstance(meant, cmd.GivenAmount) and twin(meant.amount.value) is not None:
                    yield meant.amount.value, read_sound(folder / row["file"]).pcm


if __name__ == "__main__":
    main()

"""The kitchen's own sentences by made voices: the hearing benchmark's, and a further maker's as judge."""

import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.ports import SPEECH_RATE
from tests.bench.ear.ears import Ear
from tests.bench.ear.figures import Figures, grouped, outcomes
from tests.bench.ear.people import PARTS, Split
from tests.bench.hearing.corpora import Maker, Size
from tests.bench.hearing.hearing import OUTCOMES, as_meant, listen, outcome
from tests.bench.hearing.report import table
from tests.bench.hearing.voices import Speaker, available

_VOICES = Path("/usr/share/mbrola")
JUDGES = tuple(Speaker("espeak-ng", f"mb-{name}", 150) for name in ("us1", "us2", "us3", "en1"))
"""Diphone voices (Debian's non-free packages mbrola-us1 ...): neither teach nor tune with them."""
NOT_TUNED = "The outside judge is for the part `test` alone: nothing is tuned with it."
NO_JUDGE = (
    "The outside judge is left out: of the voices mb-us1, mb-us2, mb-us3 and mb-en1 this machine has none "
    "(Debian: mbrola of contrib, mbrola-us1 and so on of non-free)."
)


@dataclass(frozen=True)
class Said:
    """A sentence of a cook by a made voice as one ear hears it."""

    ear: str
    engine: str
    snr: str
    said: str
    heard: str
    outcome: str
    seconds: float
    """Of the clip."""
    cpu_s: float
    """Of listening to it."""


def judges(split: Split) -> list[Speaker]:
    """Voices of the outside judge on this machine; none to tune with."""
    if split != "test" or shutil.which("mbrola") is None:
        return []
    return [voice for voice in JUDGES if (_VOICES / voice.voice.removeprefix("mb-")).is_dir()]


def engine(voice: str) -> str:
    """Who made a voice, as the tables name it."""
    return "mbrola (judge)" if " mb-" in voice else voice.split(maxsplit=1)[0]


def batches(ears: Sequence[Ear], speech: Path, split: Split, size: Size) -> Iterator[Said]:
    """What cooks say in batches, by every voice, twice as much by a judge, at the ratios of `size`."""
    part = PARTS[split]
    twice = replace(size, cooks=2 * size.cooks)
    for voices, how_many in ((available(part), size), (judges(split), twice)):
        if not voices:
            continue
        for case in Maker(ears[0].application, part, speech, how_many).cooks(voices):
            for ear in ears:
                result = listen(ear.application, ear.recogniser, case)
                heard = "; ".join(found.text for found in result.found if found.accepted)
                became = outcome(ear.application, result, as_meant)
                snr, seconds = "quiet" if case.snr == "clean" else case.snr, len(case.pcm) / SPEECH_RATE
                yield Said(ear.name, engine(case.voice), snr, case.text, heard, became, seconds, result.cpu_s)


def engines_table(results: Sequence[Said], figures: Figures) -> str:
    """Share of every outcome by ear, noise and engine."""
    rows = []
    for (ear, snr, by), some in grouped(results, lambda one: (one.ear, one.snr), lambda one: one.engine):
        shares = outcomes(some, lambda one: one.outcome)
        rows.append([ear, snr, by, len(some), *shares.values()])
        if by == engine(" mb-"):
            figures[ear, f"judge right {snr}"] = shares["right"]
            figures[ear, f"judge wrong {snr}"] = shares["wrong"]
    return table(["ear", "noise", "engine", "n", *(f"{which} %" for which in OUTCOMES)], rows)


def cpu(results: Sequence[Said]) -> str:
    """CPU of listening by ear, endpointer included (s a second of sound)."""
    shares = {
        ear: sum(one.cpu_s for one in some) / sum(one.seconds for one in some)
        for (ear, which), some in grouped(results, lambda one: (one.ear,), lambda _: "")
    }
    return (
        f"CPU of listening: {', '.join(f'{ear} {share:.3f}' for ear, share in shares.items())} s a second.\n"
    )


def mistakes(results: Sequence[Said], most: int = 40) -> str:
    """What was acted on wrongly, a line each."""
    wrong = (f"{one.ear}, {one.snr}: {one.said} -> {one.heard}" for one in results if one.outcome == "wrong")
    return "".join(f"- {line}\n" for line in sorted(set(wrong))[:most]) or "- none\n"

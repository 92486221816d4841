"""What a hearing test learns of real people: `python -m tests.bench.ear.own_voice [--part dev|test]`.

Whoever has sixteen clips or more: learned from every other one, heard in those between, both ways.
"""

import argparse
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from statistics import median
from typing import Literal

from assistant.asr.adapting.confusions import NO_COOK, Cook
from assistant.asr.adapting.learning import ENOUGH, Said, learned, ways_of
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.ports import Sound
from tests.bench.ear.beside import TWO, Snr, among, cut, label, machines
from tests.bench.ear.ears import Ear
from tests.bench.ear.people import PARTS, Split, Spoken, sampled, sentences, short_calls, voiced
from tests.bench.hearing.real import MISSING, speech_folder
from tests.bench.hearing.report import table

LEAST, MOST = 16, 20
"""Clips of a speaker."""
SENTENCES = 300
"""In the grammar of those who say sentences."""
Way = Literal["anybody", "shipped", "always"]
WAYS: dict[Way, str] = {
    "shipped": "as it ships: used where the half that it is learned from says that it helps",
    "always": "used for everybody",
}


@dataclass(frozen=True)
class Speaker:
    """Somebody with clips enough, all of them sentences or all of them words."""

    split: Split
    kind: str
    name: str
    clips: tuple[Spoken, ...]


@dataclass(frozen=True)
class Heard:
    """A clip as it is heard with one way of learning."""

    way: Way
    kind: str
    speaker: str
    snr: str
    used: bool
    """Whether anything learned is used."""
    right: bool
    """Whether the best sentence is the true one."""
    acted: bool
    """Whether it is acted on, and right."""
    wrong: bool
    """Whether it is acted on, and wrong."""
    cost: float


def speakers(speech: Path, split: Split) -> list[Speaker]:
    """Whoever has clips enough, in the order of the manifests."""
    found: dict[tuple[str, str], list[Spoken]] = {}
    for kind, said in (("sentences", sentences(speech, split)), ("words", short_calls(speech, split))):
        for one in said:
            found.setdefault((kind, one.speaker), []).append(one)
    return [
        Speaker(split, kind, name, tuple(clips[:MOST]))
        for (kind, name), clips in found.items()
        if len(clips) >= LEAST
    ]


@cache
def _ear() -> Ear:
    return Ear("both", Path(tempfile.mkdtemp(prefix="own-voice-")))


@cache
def _grammar(speech: Path, split: Split, kind: str) -> PhonemeRecogniser[str]:
    """Of all that such speakers say, and for sentences of what others say."""
    if kind == "words":
        return _ear().among(sorted({one.text for one in short_calls(speech, split)}))
    own = {clip.text for one in speakers(speech, split) if one.kind == kind for clip in one.clips}
    others = sorted({one.text for one in sentences(speech, split)} - own)
    return _ear().among(sorted({*own, *sampled(others, max(0, SENTENCES - len(own)), "own voice")}))


def heard(speech: Path, speaker: Speaker) -> list[Heard]:
    """All clips of a speaker in quiet and noise."""
    recogniser = _grammar(speech, speaker.split, speaker.kind)
    act_above = _ear().application.settings.recogniser.act_above
    said = {snr: _said(speech, speaker, snr) for snr in TWO}
    results: list[Heard] = []
    for snr in TWO:
        for first in (0, 1):
            tested, known = said[snr][first::2], said[snr][1 - first :: 2]
            found = learned(recogniser, known, act_above, enough=ENOUGH // 2)
            before = list(_with(recogniser, speaker, tested, snr, NO_COOK))
            after = list(_with(recogniser, speaker, tested, snr, ways_of(recogniser, known)))
            shipped = after if found.cook else before
            results += [*before, *(replace(one, way="always") for one in after)]
            results += [replace(one, way="shipped") for one in shipped]
    return results


def _with(
    recogniser: PhonemeRecogniser[str], speaker: Speaker, said: Sequence[Said[str]], snr: Snr, cook: Cook
) -> Iterator[Heard]:
    hearing = recogniser.hearing(cook)
    for one in said:
        found = hearing.recognise(one.sound)
        true, acted = found.text == one.text, _ear().outcome(found) == "acted"
        yield Heard(
            way="anybody",
            kind=speaker.kind,
            speaker=speaker.name,
            snr=label(snr),
            used=bool(cook),
            right=true,
            acted=acted and true,
            wrong=acted and not true,
            cost=hearing.cost_of(one.text, hearing.outputs(one.sound)),
        )


def _said(speech: Path, speaker: Speaker, snr: Snr) -> list[Said[str]]:
    around = machines(PARTS[speaker.split], speech)
    return [
        Said(clip.text, clip.text, Sound(cut(among(voiced(clip.pcm()), snr, around, seed))))
        for seed, clip in enumerate(speaker.clips)
    ]


def voices_table(results: Sequence[Heard]) -> str:
    """By way, kind and noise: speakers helped and not, and what is heard before and after."""
    rows = []
    for way in WAYS:
        for kind, snr in dict.fromkeys((one.kind, one.snr) for one in results):
            before, after = _cell([one for one in results if (one.kind, one.snr) == (kind, snr)], way)
            if not after:
                continue
            names = list(dict.fromkeys(one.speaker for one in after))
            more = [_acted(after, name) - _acted(before, name) for name in names]
            tally = [sum(one > 0 for one in more), more.count(0), sum(one < 0 for one in more)]
            used = len({one.speaker for one in after if one.used})
            spoken = [way, kind, snr, len(names), used, " / ".join(map(str, tally))]
            rows.append([*spoken, *_figures(before, after)])
    head = ["used", "clips", "noise", "speakers", "used for", "helped / same / worse"]
    return table([*head, *FIGURES], rows)


def speakers_table(results: Sequence[Heard]) -> str:
    """Each speaker for whom it is used as it ships."""
    rows = []
    for key in dict.fromkeys((one.speaker, one.kind, one.snr) for one in results):
        own = [one for one in results if (one.speaker, one.kind, one.snr) == key]
        before, after = _cell(own, "shipped")
        if any(one.used for one in after):
            rows.append([*key, *_figures(before, after)])
    return table(["speaker", "clips", "noise", *FIGURES], rows)


FIGURES = ("right %", "right and acted on %", "wrong and acted on %", "median cost")


def _figures(before: Sequence[Heard], after: Sequence[Heard]) -> list[str]:
    shares = [
        [100.0 * sum(map(of, some)) / len(some) for some in (before, after)]
        for of in (lambda one: one.right, lambda one: one.acted, lambda one: one.wrong)
    ]
    costs = [median(one.cost for one in some) for some in (before, after)]
    return [*(f"{was:.1f} -> {now:.1f}" for was, now in shares), f"{costs[0]:.2f} -> {costs[1]:.2f}"]


def _cell(results: Sequence[Heard], way: Way) -> tuple[list[Heard], list[Heard]]:
    """Those as anybody's, and those with a way of learning."""
    return [one for one in results if one.way == "anybody"], [one for one in results if one.way == way]


def _acted(results: Sequence[Heard], speaker: str) -> int:
    return sum(one.acted for one in results if one.speaker == speaker)


_HEAD = "".join(f"- {way}: {what}\n" for way, what in WAYS.items())


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.ear.own_voice", description=__doc__)
    parser.add_argument("--part", choices=["dev", "test"], default="dev", help="`test` for tables alone")
    parser.add_argument("--most", type=int, help="at most so many speakers of a kind")
    parser.add_argument("--jobs", type=int, default=1, help="speakers that are heard at once")
    parser.add_argument("--out", type=Path, help="file of the tables, written anew after each speaker")
    given = parser.parse_args()
    speech = speech_folder()
    if speech is None:
        parser.error(MISSING)
    results: list[Heard] = []
    text = _HEAD
    with ProcessPoolExecutor(max_workers=given.jobs) as pool:
        made = []
        for kind in ("sentences", "words"):
            those = [one for one in speakers(speech, given.part) if one.kind == kind][: given.most]
            made += [pool.submit(heard, speech, one) for one in those]
        for one in made:
            results += one.result()
            text = "\n".join([_HEAD, voices_table(results), speakers_table(results)])
            if given.out is not None:
                given.out.write_text(text, encoding="utf-8")
    if given.out is None:
        print(text)


if __name__ == "__main__":
    main()

"""Real people who say what no kitchen says: sentences and single words, read in place, of one split.

Two folders of others' data: that of `tests.bench.hearing.real`, and beside it `speech_general`
(CRUMBCALL_SPEECH_GENERAL). Whoever taught a network that ships is left out.
"""

import csv
import os
import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, TypeVar

from assistant.audio.files import read_sound
from assistant.hearing.endpointing import SpeechEndpointer
from assistant.ports import SPEECH_RATE, Pcm
from tests.bench.finetune.speech.corpus import speaker_split
from tests.bench.hearing.sentences import Part

Split = Literal["dev", "test"]
PARTS: dict[Split, Part] = {"dev": "tune", "test": "test"}
"""Part of the hearing benchmark whose noises and voices belong to a split."""
MANDARIN, READERS = "Mandarin speakers", "English readers"
"""Of the latter the first language is mostly not told."""
LONGEST_S = 15.0
SHORT_WORDS = 2
AROUND_S = 0.3
"""Left before and after a voice, as the endpointer leaves it."""
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Spoken:
    """A recording of one speaker."""

    file: Path
    text: str
    speaker: str
    group: str
    """Who speaks, for the tables."""
    kind: str
    seconds: float

    def pcm(self) -> Pcm:
        """Its samples, 16 kHz."""
        return read_sound(self.file).pcm


def general_folder(speech: Path) -> Path | None:
    """Folder of general real speech, or None."""
    folder = Path(os.environ.get("CRUMBCALL_SPEECH_GENERAL") or speech.resolve().parent / "speech_general")
    return folder if (folder / "manifest.csv").is_file() else None


def sentences(speech: Path, split: Split) -> list[Spoken]:
    """Whole sentences of a split; those of the older folder belong to `test`."""
    found = [one for one in _general(speech, split) if one.kind == "sentence"]
    if split == "test":
        found += [one for one in _older(speech, "noncommand") if not _is_short(one)]
    return [one for one in found if one.seconds <= LONGEST_S]


def short_calls(speech: Path, split: Split) -> list[Spoken]:
    """Single words and short phrases of a split."""
    found = [one for one in _general(speech, split) if one.kind in ("word", "phone_number", "spelled_name")]
    if split == "test":
        for kind in ("noncommand_word", "spelling", "spelling_mixed", "number_phrase"):
            found += _older(speech, kind)
        found += [one for one in _older(speech, "noncommand") if _is_short(one)]
    return found


def talk(speech: Path, split: Split) -> list[Spoken]:
    """Sentences, and where there are some two people at once."""
    return sentences(speech, split) + (_older(speech, "two_talkers") if split == "test" else [])


def every_text(speech: Path) -> list[str]:
    """All different sentences of both folders, sorted: transcripts to choose among."""
    folder = general_folder(speech)
    rows = [] if folder is None else _rows(folder)
    texts = {_plain(row["transcript"]) for row in rows if row["kind"] == "sentence"}
    return sorted(texts | {one.text for one in _older(speech, "noncommand") if not _is_short(one)})


def sampled(items: Sequence[T], most: int | None, seed: str) -> list[T]:
    """At most so many, by chance but always the same, in their order; None: all."""
    if most is None or most >= len(items):
        return list(items)
    return [items[place] for place in sorted(random.Random(seed).sample(range(len(items)), most))]


def balanced(said: Sequence[Spoken], most: int | None) -> list[Spoken]:
    """At most so many, half of them English readers where there are as many."""
    if most is None:
        return list(said)
    readers = [one for one in said if one.group == READERS]
    others = [one for one in said if one.group != READERS]
    kept = sampled(readers, max(most // 2, most - len(others)), READERS)
    return kept + sampled(others, most - len(kept), MANDARIN)


def voiced(pcm: Pcm) -> Pcm:
    """From shortly before the first to shortly after the last voice; the whole where none is found."""
    endpointer = SpeechEndpointer()
    spoken = [*endpointer.feed(pcm), *endpointer.flush()]
    if not spoken:
        return pcm
    begin = max(0, round((spoken[0].start - AROUND_S) * SPEECH_RATE))
    return pcm[begin : round((spoken[-1].end + AROUND_S) * SPEECH_RATE)]


def anybody(speech: Path, splits: Sequence[str]) -> Iterator[Spoken]:
    """Everybody of these splits of the general folder, whoever taught a network too."""
    folder = general_folder(speech)
    for row in [] if folder is None else _rows(folder):
        speaker = f"gsc-{row['speaker']}" if row["corpus"].startswith("speech_commands") else row["speaker"]
        if folder is not None and row["split"] in splits and row["transcript"].strip():
            group = MANDARIN if row["corpus"] == "speechocean762" else READERS
            file = folder / row["file"]
            yield Spoken(file, _plain(row["transcript"]), speaker, group, row["kind"], float(row["seconds"]))


def _general(speech: Path, split: Split) -> Iterator[Spoken]:
    taught = _taught(speech)
    return (one for one in anybody(speech, [split]) if one.speaker not in taught)


def _older(speech: Path, kind: str) -> list[Spoken]:
    taught = _taught(speech)
    return [
        Spoken(
            speech / row["file"],
            _plain(row["transcript"]),
            row["speaker"],
            READERS,
            kind,
            float(row["duration_s"]),
        )
        for row in _rows(speech)
        if row["kind"] == kind and row["transcript"].strip() and row["speaker"] not in taught
    ]


def _plain(text: str) -> str:
    """Words in small letters, without signs."""
    return " ".join(re.sub(r"[^a-z' ]", " ", text.lower()).split())


def _is_short(one: Spoken) -> bool:
    """Whether it is a call and no sentence."""
    return len(one.text.split()) <= SHORT_WORDS


@cache
def _taught(speech: Path) -> frozenset[str]:
    """Speakers of whom a network that ships may have been taught: all but those kept back for tests."""
    known = {row["speaker"] for row in _rows(speech) if "gsc" in row["speaker"]}
    kept_back = {speaker for speaker in known if speaker_split(speaker) == "test"}
    index = speech.resolve().parent / "speech_train" / "index.csv"
    trained = {row["speaker"] for row in _read(index)} if index.is_file() else set()
    return frozenset((known | trained) - kept_back)


@cache
def _rows(folder: Path) -> list[dict[str, str]]:
    return _read(folder / "manifest.csv")


def _read(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))

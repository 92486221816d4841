"""Real recordings, word by word: digits, command words, spliced numbers, and what is not a command.

The folder is data of others and no part of the repository: CRUMBCALL_SPEECH, else ../shared/speech.
"""

import csv
import os
import random
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import numpy as np

from assistant.app.application import Application
from assistant.asr import Parts, build_recogniser
from assistant.audio.files import read_sound
from assistant.batch.record.commands import Command
from assistant.config.language.pronunciations import read_pronunciations
from assistant.nlu import load_grammar
from assistant.ports import Pcm, Recogniser, Sound
from assistant.testing.audio import own_words
from tests.bench.finetune.speech.corpus import speaker_split
from tests.bench.hearing.hearing import Case, as_meant, listen, outcome
from tests.bench.hearing.intervals import Share

TOP = Path(__file__).parents[3]
MISSING = "no folder of real recordings (set CRUMBCALL_SPEECH); real voices and recorded noises are left out"
PAD_S = 0.3
_UNITS = ("seconds", "minutes", "hours")

_DIGITS = "zero | oh | one | two | three | four | five | six | seven | eight | nine"
_NUMBER = f"""
<number> = <below> | <digit> hundred [[and] <below>] | <digit> <ten_up> | <digit> thousand [[and] <hundreds>];
<hundreds> = <below> | <digit> hundred [[and] <below>];
<below> = <digit> | <ten_up>;
<ten_up> = ten | eleven | twelve | thirteen | fourteen | fifteen | sixteen | seventeen | eighteen | nineteen
    | <tens> [<digit>];
<tens> = twenty | thirty | forty | fifty | sixty | seventy | eighty | ninety;
<digit> = {_DIGITS};
"""
_NUMBERS = f"public <all> = <number>;{_NUMBER}"
_DURATIONS = f"public <all> = <number> (second | seconds | minute | minutes | hour | hours);{_NUMBER}"
_STRINGS = f"""
public <all> = <digit> <digit> [<digit> [<digit> [<digit>]]];
<digit> = {_DIGITS};
"""
_ANY = f"public <all> = <number> | <number> <number> | <digit> <digit> <digit> [<digit> [<digit>]];{_NUMBER}"


@dataclass(frozen=True)
class Group:
    """A row of the table."""

    name: str
    holds: Callable[[dict[str, str]], bool]
    """Whether a clip of the manifest belongs to it."""
    rules: str | None
    """The grammar that the clips are recognised with; None: the station's."""


def _in(*folders: str) -> Callable[[dict[str, str]], bool]:
    return lambda row: row["file"].startswith(folders)


GROUPS = (
    Group("digits, 16 kHz", _in("numbers/gsc"), f"public <all> = {_DIGITS};"),
    Group("digits, band-limited, accented", _in("numbers/fsdd"), f"public <all> = {_DIGITS};"),
    Group("command words", _in("commands/"), "words"),
    Group("spliced numbers", lambda row: row["kind"] == "spliced_number", _NUMBERS),
    Group("spliced durations", lambda row: row["kind"] == "spliced_duration", _DURATIONS),
    Group("spliced digit strings", lambda row: row["kind"] == "spliced_digits", _STRINGS),
    Group(
        "natural number strings",
        lambda row: row["kind"] == "number_string" and float(row["duration_s"]) < 4,
        _ANY,
    ),
)
NOT_COMMANDS = Group("no command", _in("noncommand/"), None)


def speech_folder() -> Path | None:
    """Folder of real recordings, or None."""
    folder = Path(os.environ.get("CRUMBCALL_SPEECH") or TOP.parent / "shared" / "speech")
    return folder if (folder / "manifest.csv").is_file() else None


def real_words(application: Application, speech: Path, most: int) -> Iterator[tuple[str, Share, list[str]]]:
    """Share right of every group, best sentence of a small grammar, and what was heard for what."""
    for group in GROUPS:
        rows = _rows(speech, group, most)
        recogniser = _recogniser(application, group.rules or "", rows)
        wrong = []
        for row in rows:
            pcm = _padded(read_sound(speech / row["file"]).pcm)
            heard = recogniser.recognise(Sound(pcm)).text
            if _same(heard) != _same(row["transcript"]):
                wrong.append(f"{row['transcript']} -> {heard or '-'}")
        yield group.name, Share(len(rows) - len(wrong), len(rows)), wrong


def real_talk(
    application: Application, recogniser: Recogniser[Command], speech: Path, most: int
) -> tuple[Share, float, list[str]]:
    """Share of clips without a command that were acted on or asked about, their hours, and what was heard."""
    taken, seconds, rows = [], 0.0, _rows(speech, NOT_COMMANDS, most)
    for row in rows:
        pcm = read_sound(speech / row["file"]).pcm
        seconds += len(pcm) / 16_000
        pad: Pcm = np.zeros(16_000, np.int16)
        case = Case(row["transcript"], None, np.concatenate([pad, pcm, pad]), row["speaker"], "", "real")
        result = listen(application, recogniser, case)
        if outcome(application, result, as_meant) != "again":
            texts = (found.text for found in result.found if found.accepted or found.near)
            taken.append(f"{row['transcript'][:60]} -> {'; '.join(texts)}")
    return Share(len(taken), len(rows)), seconds / 3600, taken


@cache
def _manifest(speech: Path) -> list[dict[str, str]]:
    with (speech / "manifest.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _rows(speech: Path, group: Group, most: int) -> list[dict[str, str]]:
    rows = [
        row for row in _manifest(speech) if group.holds(row) and row["transcript"].strip() and _unheard(row)
    ]
    return random.Random(group.name).sample(rows, min(most, len(rows)))


def _unheard(row: dict[str, str]) -> bool:
    """Whether no network was trained with the speaker: Speech Commands were used, less the test speakers."""
    return "gsc" not in row["speaker"] or speaker_split(row["speaker"]) == "test"


def _recogniser(application: Application, rules: str, rows: list[dict[str, str]]) -> Recogniser[str]:
    if rules == "words":
        rules = f"public <all> = {' | '.join(sorted({row['transcript'] for row in rows}))};"
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "words.jsgf"
        file.write_text(f"#JSGF V1.0 UTF-8 en;\ngrammar words;\n{rules}\n", encoding="utf-8")
        layer = load_grammar(file).layer
    pronunciations = partial(read_pronunciations, application.home.language_file("pronunciations.toml"))
    parts = Parts(layer=layer, meaning=own_words, pronunciations=pronunciations)
    return build_recogniser("phoneme", parts)


def _padded(pcm: Pcm) -> Pcm:
    return np.pad(pcm, round(PAD_S * 16_000))


def _same(text: str) -> str:
    """Sentences of one meaning are the same: "oh" is zero, "and" is nothing, a unit's plural is the unit."""
    words = [word.removesuffix("s") if word in _UNITS else word for word in text.split() if word != "and"]
    return " ".join("zero" if word == "oh" else word for word in words)

"""An hour through a sound card: `python -m tests.bench.service.hour [--minutes 60] [--out FILE]`.

`crumbcall listen` as a process of its own, at the virtual card of `tests/audio`; a synthetic cook speaks to
it beside a hum, answers what it asks, and talks of other things between. Afterwards what the station
read back is compared with its journal, and its memory and CPU with those of the fifth minute.
"""

import argparse
import json
import os
import signal
import sys
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path
from queue import Empty, Queue
from subprocess import DEVNULL
from tempfile import TemporaryDirectory
from threading import Event, Thread
from typing import Any

from assistant.audio.playback import SoundSpeaker
from assistant.batch.record.events import WaterAdded
from assistant.clock import RealClock
from assistant.journal.reader import JournalReader
from assistant.ports import SPEECH_RATE, Sound
from tests.asr.speech import espeak, white_noise
from tests.audio.listen_process import listen_process
from tests.audio.virtual_card import COOK, LATENCY_S, in_a_hurry, missing, running_card
from tests.bench.hearing.report import table

_CLOCK, _QUIET = RealClock(), Event()
STARTS_IN_S = 20.0
"""Until it has said that it is ready, and how the last batch stands."""
PAUSE_S, ANSWERED_WITHIN_S = 9.0, 8.0
"""Quiet between two sentences, and how long an answer is waited for at most (s)."""
QUIETER = 3
"""The cook's sound is divided by so much; the hum lies some 25 dB below it."""
BATCH = (
    "new batch eighteen fifty",
    "water three hundred",
    "how much left",
    "could you pass me the big pan please",
    "water one twenty",
    "make that one ten",
    "mix one minute",
    "is the mixer off",
    "crumb dry",
    "water fifty",
    "the fish man was late again today",
    "poured the rest",
    "crumb ready",
    "extruding",
    "scrap sixty grams",
    "tray done",
    "how much dough left",
    "twelve portions",
    "close batch",
)
TALK = ("could you pass me the big pan please", "the fish man was late again today")
VOICES = ("en-us", "en-gb", "en-gb-scotland")


@dataclass
class Hour:
    """What came of it."""

    outcomes: Counter[str] = field(default_factory=Counter)
    poured: int = 0
    """Pours that were read back."""
    memory_mb: list[float] = field(default_factory=list)
    cpu_s: list[float] = field(default_factory=list)


class Listening:
    """The station's process, and what it says."""

    def __init__(self, home: Path) -> None:
        self.process = listen_process(home, stderr=DEVNULL)
        self._turns = Queue[dict[str, Any]]()
        Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._turns.put(json.loads(line))

    def turn(self, seconds: float) -> dict[str, Any] | None:
        """Its next turn that a sentence led to; None where none comes within so many seconds."""
        until = _CLOCK.monotonic() + seconds
        while (left := until - _CLOCK.monotonic()) > 0:
            try:
                turn = self._turns.get(timeout=left)
            except Empty:
                return None
            if turn.get("said"):
                return turn
        return None

    def usage(self) -> tuple[float, float]:
        """Memory (MB, unique to it and its children) and CPU (s) of its processes."""
        found = [_usage(pid) for pid in _family(self.process.pid)]
        return sum(one[0] for one in found), sum(one[1] for one in found)


def _family(pid: int) -> list[int]:
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()
    return [pid, *(one for child in children for one in _family(int(child)))]


def _usage(pid: int) -> tuple[float, float]:
    rollup = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii")
    kb = sum(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Private_"))
    stat = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return kb / 1000, (int(stat[11]) + int(stat[12])) / os.sysconf("SC_CLK_TCK")


def hour(home: Path, minutes: float) -> Hour:
    """Speak to a station for so long."""
    found, station = Hour(), Listening(home)
    begin = _CLOCK.monotonic()
    try:
        _QUIET.wait(STARTS_IN_S)
        with closing(SoundSpeaker(device=COOK, latency=LATENCY_S)) as cook:
            for number, sentence in enumerate(cycle(BATCH)):
                passed = _CLOCK.monotonic() - begin
                if number % 10 == 0:
                    memory, cpu = station.usage()
                    found.memory_mb.append(memory)
                    found.cpu_s.append(cpu)
                    print(
                        f"{passed / 60:.1f} min: {memory:.1f} MB, {cpu:.1f} s of CPU, {found.outcomes}",
                        flush=True,
                    )
                if passed > minutes * 60 and sentence == BATCH[0]:
                    break
                _one(found, station, cook, sentence, VOICES[number // len(BATCH) % len(VOICES)])
    finally:
        station.process.send_signal(signal.SIGTERM)
        found.outcomes[f"ended with {station.process.wait(timeout=60)}"] += 1
    return found


def _one(found: Hour, station: Listening, cook: SoundSpeaker, sentence: str, voice: str) -> None:
    turn = _say(station, cook, sentence, voice)
    if sentence in TALK:
        found.outcomes["talk that was answered" if turn else "talk that was left alone"] += 1
        return
    if turn is None:
        turn = _say(station, cook, sentence, voice)
        found.outcomes["said twice" if turn else "not heard"] += 1
    elif turn["said"] != sentence:
        found.outcomes[f'"{sentence}" heard as "{turn["said"]}"'] += 1
    else:
        found.outcomes["heard at once"] += 1
    for _ in range(3):
        if turn is None or not any(reply["text"].endswith("?") for reply in turn["replies"]):
            break
        found.outcomes["asked"] += 1
        turn = _say(station, cook, "yes", voice)
    if turn is not None:
        found.poured += any(reply["key"].startswith("water_in") for reply in turn["replies"])


def _say(station: Listening, cook: SoundSpeaker, sentence: str, voice: str) -> dict[str, Any] | None:
    """Say it, and wait for what it leads to; the hum goes on all the while."""
    said = espeak(sentence, voice).pcm // QUIETER
    length = len(said) / SPEECH_RATE + PAUSE_S
    sound = white_noise(length, -55.0)
    sound[: len(said)] += said
    cook.play(Sound(sound))
    until = _CLOCK.monotonic() + length
    turn = station.turn(len(said) / SPEECH_RATE + ANSWERED_WITHIN_S)
    _QUIET.wait(max(0.0, until - _CLOCK.monotonic()))
    return turn


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.service.hour", description=__doc__)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--out", type=Path, help="write the table into this file too")
    given = parser.parse_args()
    if lacks := missing():
        sys.exit(f"no virtual sound card: {lacks} not installed")
    with TemporaryDirectory() as folder, in_a_hurry(), running_card(Path(folder)):
        home = Path(folder) / "home"
        found = hour(home, given.minutes)
        with JournalReader.open(home / "journal.sqlite") as journal:
            in_journal = sum(isinstance(event, WaterAdded) for _, event in journal.read())
    early = min(len(found.memory_mb) - 1, 2)
    rows = [
        *((what, f"{times}") for what, times in sorted(found.outcomes.items())),
        ("pours read back / in the journal", f"{found.poured} / {in_journal}"),
        ("memory early / at the end (MB)", f"{found.memory_mb[early]:.1f} / {found.memory_mb[-1]:.1f}"),
        ("CPU (s a second)", f"{(found.cpu_s[-1] - found.cpu_s[early]) / (given.minutes * 60):.3f}"),
    ]
    text = f"# {given.minutes:g} minutes through a sound card\n\n{table(['what', 'how often'], rows)}\n"
    print(text)
    if given.out is not None:
        given.out.write_text(f"{text}\nMade by `python -m tests.bench.service.hour`.\n", encoding="utf-8")


if __name__ == "__main__":
    main()

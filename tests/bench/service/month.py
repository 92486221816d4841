"""A month of service, most of it typed: `python -m tests.bench.service.month [--days 30] [--out FILE]`.

One home, one clock that is moved and not waited for; a station that is begun anew each morning, after some
nights without power and over the night in which summer time begins. Every fifth day goes as sound through the
endpointer and the real recogniser beside the motor. Each evening the journal is replayed, and every pour that
was read back is looked for in it.
"""

import argparse
import resource
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from assistant.app.application import Application, open_application
from assistant.app.rehearsal_stage import rehearse
from assistant.batch.record.events import BatchClosed, Event, WaterAdded
from assistant.batch.record.evolving.evolve import replay
from assistant.clock import RealClock, ScriptedClock
from assistant.config.home import Home
from assistant.config.language.scene import Cue, Scene
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.station.messages import Heard
from assistant.station.station import Turn
from tests.bench.hearing.report import table

DAY_S, NIGHT_S = 86_400.0, 36_000.0
MARCH = datetime(2026, 3, 9, 8, tzinfo=UTC).timestamp()
SPOKEN_EACH = 5
FLOUR = ("fifteen hundred", "eighteen fifty", "two thousand", "twelve hundred")
TALK = ("did the fish man come already", "I left two lemons on the board for you")
VOICES = ("en-us", "en-gb-x-rp", "en-gb-scotland")


@dataclass
class Month:
    """What came of it."""

    counts: Counter[str] = field(default_factory=Counter)
    poured: int = 0
    opened_s: list[float] = field(default_factory=list)
    """How long each morning's start took (s)."""


def service(rng: Random, batches: int) -> list[Cue]:
    """A day's sentences."""
    cues = [Cue(say=f"lot {rng.choice(('four seven one', 'four eighty', 'five twelve'))}")]
    for _ in range(batches):
        cues += [
            Cue(say=f"new batch {rng.choice(FLOUR)}"),
            Cue(say=f"water {rng.choice(('two hundred', 'two ten', 'two twenty'))}"),
            Cue(talk=rng.choice(TALK)),
            Cue(say=f"water {rng.choice(('sixty', 'eighty', 'ninety'))}"),
            Cue(say="mix one minute"),
            Cue(until="ring"),
            Cue(say="mixer off"),
            Cue(say="crumb dry"),
            Cue(say="poured the rest"),
            Cue(say="mix one minute"),
            Cue(until="ring"),
            Cue(say="mixer off"),
            Cue(say="crumb ready"),
            Cue(say="extruding"),
            Cue(say="tray done"),
            Cue(wait=float(rng.randrange(30, 120))),
            Cue(say="tray cold"),
            Cue(say="twelve portions"),
            Cue(say="close batch"),
        ]
    return cues


def _poured(month: Month, turn: Turn) -> None:
    month.poured += any(reply.key.startswith("water_in") for reply in turn.replies)


def typed_day(month: Month, app: Application, clock: ScriptedClock, cues: list[Cue]) -> None:
    """A day at the keyboard."""
    station, journal, _ = app.open_station(clock)
    try:
        for cue in cues:
            clock.move(7.0)
            while (due := station.next_due) is not None and due <= station.now:
                station.due()
            if cue.say is not None:
                _poured(month, station.hear(cue.say, source="keyboard"))
                month.counts["commands typed"] += 1
                while station.state.question is not None:
                    _poured(month, station.hear("yes", source="keyboard"))
                    month.counts["questions answered"] += 1
            elif cue.until is not None:
                while not station.state.ringing and (due := station.next_due) is not None:
                    clock.move(max(0.0, due - station.now))
                    station.due()
            elif cue.wait is not None:
                clock.move(cue.wait)
    finally:
        journal.close()


def spoken_day(month: Month, app: Application, clock: ScriptedClock, cues: list[Cue], cook: str) -> None:
    """A day as sound."""

    def show(turn: Turn, _heard: Heard | None, _said: str | None, _start: float) -> None:
        _poured(month, turn)

    scene = Scene("a day", cook, 150, cues)
    found = rehearse(app, scene, app.home.data, speed=0, show=show, clock=clock).report
    month.counts["commands spoken, right at once"] += found.right
    month.counts["commands spoken, right the second time or after a question"] += found.again
    month.counts["commands spoken, not heard"] += len(found.wrong)
    month.counts["talk that was left alone"] += found.talk - len(found.answered_talk)
    month.counts["talk that was answered"] += len(found.answered_talk)


def month_of(home: Home, days: int, rng: Random) -> Month:
    """So many days; raises RuntimeError where a journal does not lead to the state that it says."""
    month, real = Month(), RealClock()
    clock = ScriptedClock(wall=MARCH, boot="month 0")
    for day in range(days):
        app = open_application(home)
        begin = real.monotonic()
        app.open_station(clock)[1].close()
        month.opened_s.append(real.monotonic() - begin)
        spoken = day % SPOKEN_EACH == SPOKEN_EACH - 1
        cues = service(rng, 2 if spoken else rng.randrange(4, 9))
        if spoken:
            spoken_day(month, app, clock, cues, VOICES[day // SPOKEN_EACH % len(VOICES)])
        else:
            typed_day(month, app, clock, cues)
        with closing(SqliteJournal.open(home.journal_file, clock)) as journal:
            if replay(event for _, event in journal.read()) != journal.load()[0]:
                raise RuntimeError(f"day {day + 1}: the journal does not lead to its state")
        month.counts["evenings, replayed to the same state"] += 1
        if rng.random() < 0.3:
            clock.reboot(f"month {day + 1}", off_s=NIGHT_S)
            month.counts["nights without power"] += 1
        clock.move(MARCH + (day + 1) * DAY_S - clock.wall())
        print(f"day {day + 1}: {dict(month.counts)}, {_memory_mb():.0f} MB", flush=True)
    return month


def _memory_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.service.month", description=__doc__)
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--out", type=Path, help="write the table into this file too")
    given = parser.parse_args()
    with TemporaryDirectory() as folder:
        home = Home.find(Path(folder))
        month = month_of(home, given.days, Random("month"))
        with JournalReader.open(home.journal_file) as journal:
            events: list[Event] = [event for _, event in journal.read()]
        size_mb = home.journal_file.stat().st_size / 1e6
    pours = sum(isinstance(event, WaterAdded) for event in events)
    rows = [
        ("days, of them spoken", f"{given.days}, {given.days // SPOKEN_EACH}"),
        ("batches closed", sum(isinstance(event, BatchClosed) for event in events)),
        *sorted(month.counts.items()),
        ("pours read back / in the journal", f"{month.poured} / {pours}"),
        ("events, journal (MB)", f"{len(events)}, {size_mb:.1f}"),
        (
            "start on the second / on the last morning (s)",
            f"{month.opened_s[1]:.2f} / {month.opened_s[-1]:.2f}",
        ),
        ("memory of the process at most (MB)", f"{_memory_mb():.0f}"),
    ]
    head = f"# {given.days} days of service\n\nMade by `python -m tests.bench.service.month`.\n"
    text = f"{head}\n{table(['what', 'figure'], rows)}"
    print(text)
    if given.out is not None:
        given.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

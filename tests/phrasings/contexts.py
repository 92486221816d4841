"""The moments in which the sentences of the lists are said: a fresh station, brought there by commands.

No sentence is spoken on the way, so that a moment does not depend on the grammar.
"""

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from assistant.app.application import Application, open_application
from assistant.batch.decide.decide import Said
from assistant.batch.record import commands as cmd
from assistant.batch.record.events import Event
from assistant.batch.record.rules import Known
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.dough.amounts import Amount
from assistant.dough.shift_plan import PlannedBatch
from assistant.station.loop import due_turns
from assistant.station.station import Station, Turn
from assistant.testing.journal import MemoryJournal


@dataclass(frozen=True)
class Doubtful:
    """Heard by voice, and not surely."""

    command: cmd.Command
    text: str


Step = cmd.Command | Doubtful | float
"""A command of a keyboard, one heard badly, or seconds that pass."""


def _grams(value: float) -> Amount:
    return Amount(value, exact=True)


FLOUR_G = 1500.0
_OPEN: tuple[Step, ...] = (cmd.NewBatch(_grams(FLOUR_G)), 60.0)
_POURED: tuple[Step, ...] = (*_OPEN, cmd.AddWater(_grams(330)), 60.0)
_MIXED: tuple[Step, ...] = (*_POURED, cmd.PourRest(), cmd.Mix(60), 61.0, cmd.GotIt(), 20.0)
_READY: tuple[Step, ...] = (*_MIXED, cmd.JudgeCrumb("ready"), 20.0)
_TRIMMING: tuple[Step, ...] = (*_READY, cmd.Extruding(), cmd.NewDie("rigatoni"), 20.0)
_EXTRUDING: tuple[Step, ...] = (*_TRIMMING, cmd.DieWarm(), 60.0)
_TIMERS: tuple[Step, ...] = (*_POURED, cmd.SetTimer("sauce", 600), cmd.SetTimer("3", 300), 60.0)
_WALKING: tuple[Step, ...] = (cmd.Walk("clean down"), 20.0)


def _asked(command: str, **given: str) -> cmd.Incomplete:
    return cmd.Incomplete(command, "number", tuple(given.items()))


CONTEXTS: Mapping[str, tuple[Step, ...]] = {
    # a batch
    "idle": (),
    "fresh": _OPEN,
    "pouring": _POURED,
    "mixing": (*_POURED, cmd.Mix(180), 60.0),
    "squeezing": _MIXED,
    "resting": (*_MIXED, cmd.JudgeCrumb("dry"), cmd.Rest(600), 60.0),
    "ready": _READY,
    "trimming": _TRIMMING,
    "extruding": _EXTRUDING,
    "tray": (*_EXTRUDING, cmd.TrayDone(), 600.0),
    "closed": (*_EXTRUDING, cmd.CloseBatch(), 60.0),
    "egg_batch": (cmd.UseRecipe("egg"), 5.0, cmd.NewBatch(_grams(1000)), 60.0),
    # timers
    "one_timer": (cmd.SetTimer("pasta", 360), 60.0),
    "timers": _TIMERS,
    "ringing": (*_POURED, cmd.SetTimer("sauce", 60), 63.0),
    "two_rings": (*_POURED, cmd.SetTimer("sauce", 60), cmd.SetTimer("3", 60), 63.0),
    "mix_rings": (*_POURED, cmd.Mix(60), 63.0),
    # the station
    "walking": _WALKING,
    "walking_on": (*_WALKING, cmd.WalkMove("done"), 20.0),
    "planned": (),
    "deaf": (cmd.Listening(on=False), 20.0),
    # just read back
    "just_poured": (*_OPEN, cmd.AddWater(_grams(150)), 3.0),
    "just_timer": (cmd.SetTimer("1", 600), 3.0),
    "just_lot": (cmd.SetLot("12"), 3.0),
    # just asked: something is missing
    "asked_flour": (_asked("new_batch"), 3.0),
    "asked_water": (*_OPEN, _asked("water"), 3.0),
    "asked_lot": (_asked("lot"), 3.0),
    "asked_percent": (*_OPEN, _asked("target"), 3.0),
    "asked_recipe": (_asked("recipe"), 3.0),
    "asked_time": (_asked("timer", name="3"), 3.0),
    "asked_mix": (*_POURED, _asked("mix"), 3.0),
    "asked_rest": (*_MIXED, _asked("rest"), 3.0),
    "asked_timer": (*_TIMERS, cmd.StopTimer(), 3.0),
    "asked_count": (*_EXTRUDING, _asked("portions"), 3.0),
    "asked_die": (*_READY, _asked("new_die"), 3.0),
    "asked_scrap": (*_EXTRUDING, _asked("scrap"), 3.0),
    # just asked: yes or no
    "high_question": (*_POURED, cmd.AddWater(_grams(200)), 3.0),
    "close_question": (*_EXTRUDING, Doubtful(cmd.CloseBatch(), "close batch"), 3.0),
    "twin_question": (*_OPEN, Doubtful(cmd.AddWater(Amount(15)), "water fifteen"), 3.0),
}
"""Names of moments, and how a station gets there."""

_PLAN = (PlannedBatch("day/1", "rigatoni", None, 1500.0, 465.0, 14, "16:30"),)


@dataclass
class Bench:
    """A station in a moment, with what came before the sentence."""

    station: Station
    clock: ScriptedClock
    events: list[Event]
    """All that were written, oldest first."""
    last: Turn | None = None
    """The last turn that said something."""

    def step(self, step: Step) -> None:
        match step:
            case float():
                until = self.clock.monotonic() + step
                for turn in due_turns(self.station, until, self._move_to):
                    self._kept(turn)
            case Doubtful():
                self._kept(self.station._turn(Said(step.command, "voice", step.text, unsure=True)))
            case _:
                self._kept(self.station._turn(Said(step, "keyboard"), None, step))

    def _move_to(self, at: float) -> None:
        self.clock.move(max(0.0, at - self.clock.monotonic()))

    def _kept(self, turn: Turn) -> Turn:
        if turn.replies:
            self.last = turn
        return turn


@cache
def application() -> Application:
    """The program as it ships, in a home folder of its own, read once."""
    with tempfile.TemporaryDirectory() as folder:
        return open_application(Home.find(Path(folder)))


def prepared(name: str) -> Bench:
    """A fresh station in this moment; KeyError where there is none of this name."""
    bench = _bench(name)
    for step in CONTEXTS[name]:
        bench.step(step)
    return bench


def _bench(name: str) -> Bench:
    app, clock = application(), ScriptedClock()
    events: list[Event] = []
    station = Station(
        MemoryJournal(clock),
        clock,
        app.rules,
        app.grammar,
        app.replies,
        known=_known(name),
        written=events.extend,
    )
    return Bench(station, clock, events)


@cache
def _known(name: str) -> Known:
    known = application().known(ScriptedClock(trusted=False))
    return replace(known, plan=_PLAN) if name == "planned" else known

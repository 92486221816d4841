"""A decision in the making: requests, events and announcements in the order in which they happen."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Announcement, Tone, Value, say
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks.time_off import KnownTime
from assistant.batch.record.commands import Command, Together
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.printing.print_kinds import PRINTED, PrintResult
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import State, Undoable


@dataclass(frozen=True, slots=True)
class Said:
    """A command came in."""

    command: Command
    source: ev.Source = "voice"
    text: str = ""
    """The words."""
    unsure: bool = False
    """Whether the recogniser could not tell it from another command."""
    twin_near: bool = False
    """Whether the recogniser heard the twin of its number nearly as well."""
    guessed: bool = False
    """Whether the words are a guess at what was typed: nothing is done or answered before a yes."""
    again: int = 0
    """How often it was said before, with nothing else between: help goes on where it stopped."""


@dataclass(frozen=True, slots=True)
class Due:
    """Time went on: whatever is due by now is due."""


@dataclass(frozen=True, slots=True)
class Started:
    """The station came up."""

    shift: float
    """What earlier times are moved by (s); see `events.StationStarted`."""
    certain: bool
    """Whether the shift is known."""
    known: KnownTime | None = None
    """What the clock may yet tell it by, where it is not; see `events.StationStarted`."""


@dataclass(frozen=True, slots=True)
class ClockSet:
    """The clock can be trusted now, and tells how long the station was off before it came up."""

    off: float
    """How long (s)."""
    told: bool = False
    """Whether a cook told the time."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A job of printing ended."""

    job: int
    result: PrintResult = PRINTED


Request = Said | Due | Started | ClockSet | Printed


@dataclass(frozen=True, slots=True)
class Decision:
    """What a request leads to."""

    events: tuple[ev.Event, ...]
    """What happened, to be journalled first."""
    announcements: tuple[Announcement, ...]
    """What is said of it, afterwards."""
    state: State
    """The state after the events."""


@dataclass(slots=True)
class Draft:
    """Collects a decision and carries the state along, so that later steps see what earlier ones did."""

    state: State
    now: float
    rules: BatchRules
    known: Known = NOTHING
    source: ev.Source = "voice"
    text: str = ""
    unsure: bool = False
    twin_near: bool = False
    guessed: bool = False
    confirmed: bool = False
    """Whether a yes carries this command out."""
    settled: ev.Reason | None = None
    """The reason of the question that the yes answered."""
    contrasted: bool = False
    """Whether the number was said instead of its twin, and so can't be the twin."""
    not_in_yet: bool = False
    """Whether it was answered just now that the next addition is not in: it is not asked for again."""
    again: int = 0
    """How often the command was said before, with nothing else between."""
    then: tuple[Command, ...] = ()
    """Commands that were said in one breath behind the one that is carried out."""
    one_breath: bool = False
    """Whether what happens now is one thing to the cook, who takes it back as one."""
    steps: int = 0
    """How much happened in this breath that can be taken back."""
    events: list[ev.Event] = field(default_factory=list)
    announcements: list[Announcement] = field(default_factory=list)

    @property
    def doubtful(self) -> bool:
        """Whether the command was heard badly, and nobody confirmed it."""
        return self.unsure and not self.confirmed

    @property
    def batch(self) -> Batch:
        """The open batch, for commands that need one (`handlers.Handler.needs_batch`)."""
        if self.state.batch is None:
            raise RuntimeError("a command that needs a batch was carried out without one")
        return self.state.batch

    def happen(self, event: ev.Event) -> None:
        """Add an event and move the state by it."""
        if self.one_breath and self.steps:
            event = replace(event, joined=True)
        last = self._last_step
        self.state = evolve(self.state, event)
        self.events.append(event)
        if self.one_breath and not isinstance(event, ev.Withdrawn) and self._last_step is not last:
            self.steps += 1

    @property
    def _last_step(self) -> Undoable | None:
        return self.state.undo[-1] if self.state.undo else None

    @contextmanager
    def breath(self) -> Iterator[None]:
        """What happens within is taken back as one."""
        was, self.one_breath = self.one_breath, True
        self.steps = self.steps if was else 0
        try:
            yield
        finally:
            self.one_breath = was

    def say(self, key: str, tone: Tone | None = None, **values: Value) -> None:
        """Add an announcement."""
        self.announcements.append(say(key, tone, **values))

    def ask_whether_meant(self, command: Command) -> None:
        """Ask whether this was said, or meant by what was said in other words."""
        self.ask("unsure", command, "ask_meant" if self.guessed else "ask_unsure", said=self.text)

    def ask(self, reason: ev.Reason, command: Command, key: str, /, **values: Value) -> None:
        """Open a question whose yes carries out `command`, or whose value completes it.

        What was said in the same breath behind it waits for the answer too.
        """
        self.happen(
            ev.QuestionAsked(
                at=self.now,
                reason=reason,
                command=Together((command, *self.then)) if self.then else command,
                source=self.source,
                expires=self.now + self.rules.question_s,
            )
        )
        self.say(key, "question", **values)

    def decision(self) -> Decision:
        """What was collected."""
        return Decision(tuple(self.events), tuple(self.announcements), self.state)

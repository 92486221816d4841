"""A decision in the making: requests, events and announcements in the order in which they happen."""

from dataclasses import dataclass, field

from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Announcement, Tone, Value, say
from assistant.batch.record.commands import Command
from assistant.batch.record.evolve import evolve
from assistant.batch.record.known import NOTHING, Known
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State


@dataclass(frozen=True, slots=True)
class Said:
    """A command came in. `text`: the words; `unsure`: the recogniser could not tell it from another command."""

    command: Command
    source: ev.Source = "voice"
    text: str = ""
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class Due:
    """Time went on: whatever is due by now is due."""


@dataclass(frozen=True, slots=True)
class Started:
    """The station came up: old times move by `shift` (s); see `events.StationStarted`."""

    shift: float
    certain: bool


Request = Said | Due | Started


@dataclass(frozen=True, slots=True)
class Decision:
    """What happened (to be journalled first) and what is said of it (afterwards)."""

    events: tuple[ev.Event, ...] = ()
    announcements: tuple[Announcement, ...] = ()


@dataclass(slots=True)
class Draft:
    """Collects a decision and carries the state along, so that later steps see what earlier ones did."""

    state: State
    now: float
    rules: BatchRules
    source: ev.Source = "voice"
    text: str = ""
    unsure: bool = False
    confirmed: bool = False
    known: Known = NOTHING
    settled: ev.Reason | None = None
    events: list[ev.Event] = field(default_factory=list)
    announcements: list[Announcement] = field(default_factory=list)

    def happen(self, event: ev.Event) -> None:
        """Add an event and move the state by it."""
        self.state = evolve(self.state, event)
        self.events.append(event)

    def say(self, key: str, tone: Tone | None = None, **values: Value) -> None:
        """Add an announcement."""
        self.announcements.append(say(key, tone, **values))

    def ask(self, reason: ev.Reason, command: Command, key: str, **values: Value) -> None:
        """Open a question whose yes carries out `command`."""
        expires = self.now + self.rules.question_s
        self.happen(ev.QuestionAsked(self.now, reason, command, self.source, expires))
        self.say(key, "question", **values)

    def decision(self) -> Decision:
        """What was collected."""
        return Decision(tuple(self.events), tuple(self.announcements))

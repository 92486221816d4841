"""What the threads around the station post to its queue."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from assistant.batch.record.announcements import Tone, Value
from assistant.batch.record.commands import Command
from assistant.batch.record.printing.print_kinds import PRINTED, PrintResult
from assistant.batch.record.state import State
from assistant.ports import Recognition


@dataclass(frozen=True, slots=True)
class Heard:
    """An utterance was recognised."""

    recognition: Recognition[Command]
    clipped: bool = False
    """Whether the station's own voice cut into it."""
    snr_db: float | None = None
    """How far speech is above the noise of the room (dB); None where that is not known."""
    addressed: bool = False
    """Whether the cook asked to be heard, by the foot switch."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A line came from the keyboard."""

    text: str


@dataclass(frozen=True, slots=True)
class Pressed:
    """A hand or a foot asks for a command without a word."""

    command: Command


@dataclass(frozen=True, slots=True)
class Touched:
    """A button on a screen was pressed."""

    command: Callable[[State], Command | None]
    """What it stands for; None where it is not offered in this state any more."""


@dataclass(frozen=True, slots=True)
class Noticed:
    """A device reports something that is not an event of the batch."""

    key: str
    """Its announcement's."""
    values: Mapping[str, Value] = field(default_factory=dict)
    """What the announcement's wording may use."""
    tone: Tone | None = None
    """The tone before it; None: none."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The jug scale saw a pour."""

    grams: float
    """Water that left the jug (g)."""
    sure: bool = True
    """Whether nothing else touched the jug."""


@dataclass(frozen=True, slots=True)
class PrintDone:
    """A job of printing ended."""

    job: int
    result: PrintResult = PRINTED


@dataclass(frozen=True, slots=True)
class Beat:
    """A watchdog asks whether the loop still turns."""

    turned: Callable[[], None]
    """The loop calls it when it takes this message."""


@dataclass(frozen=True, slots=True)
class Died:
    """A worker ended by an error; it is begun again."""

    worker: str
    """Its name."""
    cause: str
    """In one line."""


@dataclass(frozen=True, slots=True)
class Recovered:
    """A worker that died was begun again, and lives."""

    worker: str
    """Its name."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A part without which the station is deaf or dumb is gone; its worker tries to get it back."""

    what: str
    """Which: one of `EARS`, or "speaker"."""
    cause: str
    """In one line."""


EARS = ("microphone", "recogniser")
"""Parts without which nothing is heard."""


@dataclass(frozen=True, slots=True)
class Found:
    """A part is back."""

    what: str
    """Which, as in `Lost`."""


@dataclass(frozen=True, slots=True)
class Stop:
    """The loop ends, after what was queued before."""


Message = (
    Heard
    | Typed
    | Pressed
    | Touched
    | Noticed
    | Weighed
    | PrintDone
    | Beat
    | Died
    | Recovered
    | Lost
    | Found
    | Stop
)

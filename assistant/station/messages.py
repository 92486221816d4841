"""What the threads around the station post to its queue."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from assistant.batch.record.announcements import Tone, Value
from assistant.batch.record.commands import Command
from assistant.ports import Recognition


@dataclass(frozen=True, slots=True)
class Heard:
    """A recogniser made something of an utterance.

    `clipped`: our own voice cut into it. `spoken_at`: station time (s) at which the cook stopped speaking. `snr_db`:
    how far speech stood above the room; None where that is not known.
    """

    recognition: Recognition[Command]
    clipped: bool = False
    spoken_at: float | None = None
    snr_db: float | None = None


@dataclass(frozen=True, slots=True)
class Typed:
    """A line came from the keyboard."""

    text: str


@dataclass(frozen=True, slots=True)
class Pressed:
    """A hand or a foot asks for this without a word."""

    command: Command


@dataclass(frozen=True, slots=True)
class Noticed:
    """A device has something to tell that is no event of the batch: its announcement's key, values and tone."""

    key: str
    values: Mapping[str, Value] = field(default_factory=dict)
    tone: Tone | None = None


@dataclass(frozen=True, slots=True)
class Weighed:
    """The jug scale saw a pour of so much (g). `sure`: nothing else touched the jug."""

    grams: float
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Beat:
    """A watchdog asks whether the loop still turns: it does when it calls this."""

    turned: Callable[[], None]


@dataclass(frozen=True, slots=True)
class Died:
    """A worker ended by an error; its cause in one line."""

    worker: str
    cause: str


@dataclass(frozen=True, slots=True)
class Lost:
    """The microphone or the speaker is gone; somebody tries to get it back."""

    what: str
    cause: str


@dataclass(frozen=True, slots=True)
class Found:
    """It is back."""

    what: str


@dataclass(frozen=True, slots=True)
class Stop:
    """End after what was queued before."""


Message = Heard | Typed | Pressed | Noticed | Weighed | Beat | Died | Lost | Found | Stop

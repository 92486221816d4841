"""What the core needs of the world: protocols, and the values that cross between packages.

Sound is mono int16. Times of sound are seconds from the start of the stream that is heard.
Every protocol has a fake in `assistant.testing` and a contract check that both must pass.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

Pcm = NDArray[np.int16]
Event = TypeVar("Event")

Asking = bool | Literal["weight"]
"""What may be said beside commands: False, nothing; True, what answers a question or moves a walk-through; "weight",
all that and a bare amount, while the scale asks what stands on it."""

SPEECH_RATE = 16_000
"""Hz at which speech is endpointed and recognised."""


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Mono samples, shape (n,), int16, at `rate` Hz."""

    pcm: Pcm
    rate: int = SPEECH_RATE

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return len(self.pcm) / self.rate


@dataclass(frozen=True, slots=True, eq=False)
class Utterance:
    """One stretch of speech: its `start` and `end` (s), and its sound with some quiet around it."""

    start: float
    end: float
    sound: Sound


class Endpointer(Protocol):
    """Finds where somebody speaks."""

    def feed(self, block: Pcm) -> list[Utterance]:
        """Take the next block (any length, `SPEECH_RATE`); give the utterances that ended in it."""

    def flush(self) -> list[Utterance]:
        """The stream ended: give an utterance that was still going on."""

    @property
    def heard_s(self) -> float:
        """Seconds fed so far: the time of the stream."""

    @property
    def quiet_s(self) -> float:
        """Seconds of quiet at the end of what was fed, in an open utterance; 0 without one."""

    def pending(self, silence_s: float) -> Utterance | None:
        """The open utterance, when it has been quiet for so long (s): work on it may begin."""

    def cut(self) -> None:
        """What is open was heard to its end: wait for the next."""


@dataclass(frozen=True, slots=True)
class WordGraph:
    """The sentences of a grammar as a minimal deterministic automaton over words.

    States are 0..n_states-1, 0 is the start. Arc i goes from `source[i]` to `target[i]` on `word[i]`.
    """

    n_states: int
    source: tuple[int, ...]
    target: tuple[int, ...]
    word: tuple[str, ...]
    final: frozenset[int]

    @property
    def words(self) -> frozenset[str]:
        """Vocabulary."""
        return frozenset(self.word)


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another sentence that the sound could have been, its cost, and how far `behind` the best it is (as a margin)."""

    text: str
    cost: float
    behind: float = math.inf


@dataclass(frozen=True, slots=True)
class Recognition:
    """What a recogniser makes of one utterance.

    `text`: best sentence of the grammar ("" when there is none). `accepted`: whether it may be acted on.
    `cost`: how badly the sound fits it (0 best, engine's own unit). `margin`: how much worse the best sentence
    with a different meaning fits (inf when there is none); small means: ask before logging. `near`: not accepted, but
    nothing else comes near it: what would change something may be asked about.
    """

    text: str
    accepted: bool
    cost: float
    margin: float
    alternatives: tuple[Alternative, ...] = ()
    near: bool = False


class Recogniser(Protocol):
    """Turns the sound of one utterance into a sentence of the grammar."""

    @property
    def name(self) -> str:
        """Name of the engine."""

    def recognise(self, sound: Sound, *, asking: Asking = False) -> Recognition:
        """Hear one utterance; `asking`: what may be said beside commands."""


class Voice(Protocol):
    """Text to sound. `rate`: words a minute, may be changed at any time."""

    rate: int

    def speak(self, text: str) -> Sound:
        """Sound of the text; raises VoiceError when none can be made."""

    def close(self) -> None:
        """Let the engine go."""


class Speaker(Protocol):
    """Plays sound; one thing at a time, can be interrupted. `volume`: 1 is as it came, may be changed."""

    volume: float

    def wake(self) -> None:
        """Somebody has begun to speak: a reply is to be expected."""

    def play(self, sound: Sound) -> None:
        """Start playing after what is queued; returns at once."""

    def stop(self) -> None:
        """Fall silent now and forget what is queued."""

    @property
    def busy(self) -> bool:
        """Whether sound is still coming out, the device's own delay included."""

    def close(self) -> None:
        """Let the device go."""


class Microphone(Protocol):
    """A stream of blocks of sound."""

    @property
    def rate(self) -> int:
        """Hz of the blocks."""

    def blocks(self) -> Iterator[Pcm]:
        """Blocks as they come, until closed; raises SoundError when the device is lost."""

    def close(self) -> None:
        """Stop; `blocks` ends."""


class ScaleReader(Protocol):
    """The converter behind a load cell: signed counts of 24 bits."""

    def poll(self) -> int | None:
        """The conversion that was finished since the last poll; None while there is none. Never waits.

        Raises DeviceError where the chip does not answer.
        """

    def close(self) -> None:
        """Let the chip go."""


class Clock(Protocol):
    """The only source of time."""

    def monotonic(self) -> float:
        """Seconds that never go back while the machine is on; they start anew with every boot."""

    def wall(self) -> float:
        """Seconds since 1970, as the machine believes."""

    def wall_trusted(self) -> bool:
        """Whether the wall clock was set by a source that knows the time."""

    def boot_id(self) -> str:
        """Name of this boot: `monotonic` can be compared only within one."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something was written: sequence, wall and monotonic time (s), boot, whether the wall clock was set."""

    sequence: int
    wall: float
    monotonic: float
    boot: str
    wall_trusted: bool


class Journal(Protocol[Event]):
    """The append-only record; one decision is one transaction."""

    def append(self, events: Sequence[Event]) -> Sequence[Stamp]:
        """Write all events of one decision durably, or none."""

    def read(self) -> Iterator[tuple[Stamp, Event]]:
        """Everything, oldest first."""

    def close(self) -> None:
        """Let the file go."""

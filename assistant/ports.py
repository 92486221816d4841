"""What the core needs of the world: protocols, and the values that cross between packages.

Sound is mono int16. Times of sound are seconds from the start of the stream that is heard.
Every protocol has a fake in `assistant.testing` and a contract check that both must pass.
"""

import math
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Generic, Never, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

Pcm = NDArray[np.int16]
Dots = NDArray[np.bool_]
"""A page as dots, row by row from the top; True is black."""
Event = TypeVar("Event")
Meaning_co = TypeVar("Meaning_co", bound=Hashable, covariant=True)
"""What a sentence means. The recognisers do not look into it: they only compare."""
M = TypeVar("M", bound=Hashable)
"""The same, for functions."""

SPEECH_RATE = 16_000
"""Hz at which speech is endpointed and recognised."""


class Asking(Enum):
    """What may be said besides commands: the slot that an open question leaves to be filled."""

    NOTHING = "nothing"
    """Commands alone."""
    ANSWER = "answer"
    """What answers a question or moves a walk-through."""
    AMOUNT = "amount"
    """A bare mass or volume."""
    TIME = "time"
    """A bare length of time."""
    PERCENT = "percent"
    COUNT = "count"
    """A bare whole number."""
    LOT = "lot"
    RECIPE = "recipe"
    SHAPE = "shape"
    TIMER = "timer"
    """The digit or name of a timer."""
    TRAY = "tray"
    """Whether a tray is full, or cold."""
    CRUMB = "crumb"
    """What the crumb is: not asked, called for, and open until it is said or the mixer runs again."""

    @property
    def layers(self) -> tuple["Asking", ...]:
        """What may be said now, layer by layer; a sentence of two layers means what the first says.

        The slot's own values come first, then answers, then commands. No other slot's values are among them.
        """
        if self is Asking.NOTHING:
            return (self,)
        if self is Asking.CRUMB:
            return (self, Asking.NOTHING)
        return tuple(dict.fromkeys((self, Asking.ANSWER, Asking.NOTHING)))


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """A stretch of sound."""

    pcm: Pcm
    """Mono samples, shape (n,)."""
    rate: int = SPEECH_RATE
    """Hz."""

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return len(self.pcm) / self.rate


@dataclass(frozen=True, slots=True, eq=False)
class Utterance:
    """One stretch of speech."""

    start: float
    """When it begins (s)."""
    end: float
    """When it ends (s)."""
    sound: Sound
    """Its sound, with some quiet around it."""


class Endpointer(Protocol):
    """Finds where somebody speaks."""

    def feed(self, block: Pcm) -> list[Utterance]:
        """Take the next block (any length, `SPEECH_RATE`); return the utterances that ended in it."""

    def flush(self) -> list[Utterance]:
        """The stream ended: return an utterance that was still going on."""

    @property
    def heard_s(self) -> float:
        """Seconds fed so far: the time of the stream."""

    @property
    def quiet_s(self) -> float:
        """Seconds of quiet at the end of what was fed, in an open utterance; 0 without one."""

    def pending(self, silence_s: float) -> Utterance | None:
        """The open utterance, when it has been quiet for this long (s): work on it may begin."""

    def cut(self) -> None:
        """The open utterance is complete: wait for the next."""


@dataclass(frozen=True, slots=True)
class WordGraph:
    """The sentences of a grammar as a minimal deterministic automaton over words.

    Arc i goes from state `source[i]` to state `target[i]` on `word[i]`.
    """

    n_states: int
    """States are 0..n_states-1; 0 is the start."""
    source: tuple[int, ...]
    target: tuple[int, ...]
    word: tuple[str, ...]
    final: frozenset[int]
    """States in which a sentence may end."""
    asked_start: int = 0
    """The start instead while something is asked."""

    def start(self, asking: Asking) -> int:
        """Where sentences begin."""
        return self.asked_start if asking is not Asking.NOTHING else 0

    @property
    def words(self) -> frozenset[str]:
        """Vocabulary."""
        return frozenset(self.word)


@dataclass(frozen=True, slots=True)
class Hypothesis(Generic[Meaning_co]):
    """A sentence that the sound could have been."""

    text: str
    """The sentence; "" when there is none."""
    meaning: Meaning_co | None
    """What it means, parsed once; None where it means nothing."""
    cost: float
    """How badly the sound fits it: 0 is best, the unit is the engine's own."""
    behind: float = 0.0
    """How far its score is behind the best one's, in the unit of margins."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for the best hypothesis, by each network that heard it, and against it."""

    costs: tuple[float, ...]
    """Log-probability lost per phone against the network's best path without grammar."""
    leads: tuple[float, ...]
    """Log-probability by which it leads the best sentence of another meaning; negative where it does not."""
    phones: int
    """Phones of the sentence as the first network spells it."""


@dataclass(frozen=True, slots=True)
class Recognition(Generic[Meaning_co]):
    """What a recogniser makes of one utterance."""

    best: Hypothesis[Meaning_co]
    accepted: bool
    """Whether the best hypothesis may be acted on."""
    margin: float
    """How far behind the best hypothesis of another meaning is; inf when there is none."""
    alternatives: tuple[Hypothesis[Meaning_co], ...] = ()
    """Hypotheses of other meanings, best first."""
    near: bool = False
    """Not accepted, but likely enough that what would change something may be asked about."""
    asking: Asking = Asking.NOTHING
    """What was asked when it was heard: its meanings are those of that moment."""
    sure: float = 1.0
    """Probability that it was said, and said to the station. Low: ask before something is changed."""
    evidence: Evidence | None = None
    """What that follows from; None where no network was asked."""
    guessed: bool = False
    """It was said in words of its own: whatever it means is asked about."""

    @property
    def text(self) -> str:
        """Sentence of the best hypothesis; "" when there is none."""
        return self.best.text

    @property
    def meaning(self) -> Meaning_co | None:
        """Meaning of the best hypothesis."""
        return self.best.meaning

    @property
    def cost(self) -> float:
        """Cost of the best hypothesis."""
        return self.best.cost


NOTHING_HEARD: Recognition[Never] = Recognition(
    Hypothesis("", None, math.inf), accepted=False, margin=0.0, sure=0.0
)
"""No sentence at all."""


Wanted = Callable[[], bool]
"""Whether the result is still wanted; asked now and then by the thread that works on it."""


def always() -> bool:
    """The result is wanted."""
    return True


class Overtaken(Exception):  # noqa: N818
    """The result was no longer wanted, and the work was left: no error, there is nothing to tell."""


class Recogniser(Protocol[Meaning_co]):
    """Turns the sound of one utterance into a sentence of the grammar, with its meaning."""

    @property
    def name(self) -> str:
        """Name of the engine."""

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[Meaning_co]:
        """Recognise one utterance; `asking`: what may be said besides commands.

        May raise Overtaken once the result is not `wanted` any more.
        """


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


class Pages(Protocol):
    """Pages that are set, for a printer."""

    @property
    def title(self) -> str:
        """What they are, in a few words."""

    @property
    def pdf(self) -> bytes:
        """All of them."""

    @property
    def media(self) -> str:
        """Their size as CUPS names it: "A4", "Custom.57x32mm"."""

    @property
    def is_cut_label(self) -> bool:
        """Whether each stands on a label that was cut before; False for a roll and for sheets."""

    def dots(self, per_mm: float) -> list[Dots]:
        """Each as dots, so many a mm."""


class Printer(Protocol):
    """Prints pages, or raises DeviceError."""

    def look(self) -> str:
        """Whether it is there, in a few words; nothing is printed. Raises DeviceError."""

    def print_pages(self, pages: Pages) -> None:
        """Print all pages."""


class Clock(Protocol):
    """The only source of time."""

    def monotonic(self) -> float:
        """Seconds that never go back while the machine is on; they start again from 0 with every boot."""

    def wall(self) -> float:
        """Seconds since 1970, as the machine believes."""

    def wall_trusted(self) -> bool:
        """Whether the wall clock was set by a source that knows the time."""

    def boot_id(self) -> str:
        """Name of this boot: `monotonic` can be compared only within one."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something was written."""

    sequence: int
    """Its number in the journal."""
    wall: float
    """Wall time (s since 1970)."""
    monotonic: float
    """Monotonic time (s); can be compared only within one boot."""
    boot: str
    """Name of the boot."""
    wall_trusted: bool
    """Whether the wall clock was set by a source that knows the time."""


class Journal(Protocol[Event]):
    """The append-only record; one decision is one transaction."""

    def append(self, events: Sequence[Event]) -> Sequence[Stamp]:
        """Write all events of one decision durably, or none."""

    def read(self) -> Iterator[tuple[Stamp, Event]]:
        """Everything, oldest first."""

    def close(self) -> None:
        """Let the file go."""

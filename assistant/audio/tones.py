"""Our own short tones: entry taken, question open, timer ringing in three urgencies."""

from enum import Enum

from assistant.ports import Sound


class Tone(Enum):
    """What a tone means."""

    TAKEN = "taken"
    QUESTION = "question"
    RING_GENTLE = "ring gentle"
    RING_FIRM = "ring firm"
    RING_URGENT = "ring urgent"


def tone(kind: Tone, rate: int = 22_050) -> Sound:
    """The sound of a tone at `rate` Hz; the same object each time."""
    raise NotImplementedError

"""What an answer would take on a Raspberry Pi: an estimate, for a machine that is none.

An answer is two kinds of work: the network's arithmetic, and everything else, which is an interpreter's.
Of each kind there is a piece of reference work here whose instructions were counted on emulated arm64
(`tests/bench/emulated/RESULTS.md`). How long this machine takes for it says how many of those instructions a
second of its own is worth; a Pi's core does `ipc * hertz` of them. Not in it: the card's own time for a
commit, memory that is slower than the caches, heat that slows a board down.
"""

from dataclasses import dataclass

import numpy as np

ARITHMETIC_INSTRUCTIONS = 85_919_245
"""Of `arithmetic()`, counted with -cpu cortex-a72."""
INTERPRETING_INSTRUCTIONS = 39_769_995
"""Of `interpreting()`, counted likewise."""


@dataclass(frozen=True, slots=True)
class Board:
    """One core of a board, and what an answer may take there."""

    name: str
    hertz: float
    """Clock, as Raspberry Pi's data sheets have it."""
    arithmetic_ipc: float
    """Instructions a clock in the network's products: assumed, two thirds of what the core's vector units can
    do: two 128-bit multiply-adds a clock on a Cortex-A76, one on an A72, half of one on an A53, and of two
    instructions one is such."""
    interpreting_ipc: float
    """Instructions a clock in an interpreter: assumed, half of what the core decodes at most (4, 3, 2), less
    on the A53, which runs in order."""
    budget_ms: float
    """Most of the median from the detector's end of speech to the first sound."""


BOARDS = (
    Board("Pi 5", 2.4e9, 2.7, 2.0, 350.0),
    Board("Pi 4", 1.8e9, 1.3, 1.4, 450.0),
    Board("Zero 2 W", 1.0e9, 0.67, 0.7, 900.0),
)
ACOUSTIC_MS = 200.0
"""What counting from the acoustic end of the speech may add."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The parts of one answer, in seconds."""

    waited: float
    """From the detector's end of speech to when the listener took it for over."""
    looked: float
    """From the detector's end of speech to when recognising began; it runs while the listener waits."""
    recognised: float
    """What recognising took."""
    after: float
    """What deciding, committing and making the first sound took."""
    network: float
    """The processor's time in the network."""
    search: float
    """The processor's time in the rest of recognising."""
    deciding: float
    """The processor's time in what came after."""
    trailing: float
    """From the acoustic end of the speech to the detector's."""

    @property
    def seconds(self) -> float:
        """From the detector's end to the first sound, on this machine."""
        return max(self.waited, self.looked + self.recognised) + self.after

    def seconds_where(self, arithmetic: float, interpreting: float) -> float:
        """The same where each kind of work takes so many times as long as here."""
        recognised = self.looked + self.network * arithmetic + self.search * interpreting
        return max(self.waited, recognised) + self.deciding * interpreting


def slower(board: Board, arithmetic_s: float, interpreting_s: float) -> tuple[float, float]:
    """How many times as long each kind of work takes on the board as here.

    `arithmetic_s`, `interpreting_s`: the processor's time for `arithmetic()` and `interpreting()` here.
    """
    return (
        ARITHMETIC_INSTRUCTIONS / (board.arithmetic_ipc * board.hertz) / arithmetic_s,
        INTERPRETING_INSTRUCTIONS / (board.interpreting_ipc * board.hertz) / interpreting_s,
    )


def arithmetic() -> float:
    """Products of the network's shapes, with what is between them; some tens of milliseconds."""
    rows = np.linspace(-1, 1, 100 * 144, dtype=np.float32).reshape(100, 144)
    wide = np.linspace(-0.1, 0.1, 144 * 576, dtype=np.float32).reshape(144, 576)
    back = np.ascontiguousarray(wide.T)
    for _ in range(10):
        between = rows @ wide
        between /= 1 + np.exp(-between)
        rows += between @ back
        rows /= np.abs(rows).max()
    return float(rows.sum())


def interpreting() -> int:
    """What an interpreter does: calls, dictionaries, texts, small lists; some tens of milliseconds."""
    seen: dict[str, list[int]] = {}
    for number in range(10_000):
        word = f"{number % 97} {number % 13}"
        seen.setdefault(word, []).append(len(word.split()) + number)
    return max(sum(numbers) for numbers in seen.values())

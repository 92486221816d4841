"""The lists as they are written down: sentences of cooks, and talk."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from tests.phrasings.contexts import CONTEXTS
from tests.phrasings.expectations import Expectation

FOLDER = Path(__file__).parent
Half = Literal["tuning", "held_back"]
HALVES: tuple[Half, ...] = ("tuning", "held_back")
STYLES = ("terse", "polite", "chatty", "typed")


@dataclass(frozen=True)
class Phrasing:
    """A sentence in a moment, and what has to come of it; None: it is talk, and nothing may."""

    intent: str
    style: str
    context: str
    text: str
    expected: Expectation | None


def phrasings(half: Half) -> list[Phrasing]:
    """One half of what cooks say."""
    return list(_read(FOLDER / f"{half}.txt"))


def near_misses(half: Half) -> list[Phrasing]:
    """One half of the talk that may not be acted on."""
    return list(_read(FOLDER / f"near_misses_{half}.txt"))


def _read(file: Path) -> Iterator[Phrasing]:
    intent = style = ""
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
        if line.startswith("## "):
            intent, style = line[3:].split()
        elif line and not line.startswith("#"):
            moment, _, rest = line.partition(" | ")
            text, arrow, expected = rest.partition(" => ")
            assert moment in CONTEXTS, f"{file.name}, line {number}: no such moment"
            yield Phrasing(intent, style, moment, text, json.loads(expected) if arrow else None)

"""Walk-throughs from files: those that ship, then the kitchen's own, which replace those of the same name."""

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.batch.record.steps import Step, WalkThrough
from assistant.config.toml_file import Place, read_sections
from assistant.config.toml_words import ALLOWED, EXAMPLE
from assistant.errors import GrammarError

FILE = "walks.toml"

_Sentence = Annotated[str, Meta(min_length=1, max_length=120, extra={EXAMPLE: 'say = "The guard closes."'})]
_A_STEP = '{ say = "Machine off and unplugged, hands clear.", safety = true }'


class WrittenStep(Struct, frozen=True):
    """One step as written."""

    say: _Sentence
    safety: bool = False
    """Whether `next` must not pass it; the first step of every walk-through is one."""
    caution: _Sentence | None = None
    """What is said before it; None: nothing."""


class WrittenWalk(Struct, frozen=True):
    """One walk-through as written."""

    steps: Annotated[
        list[WrittenStep],
        Meta(
            min_length=1,
            max_length=30,
            extra={ALLOWED: f"1 to 30 steps, as [{_A_STEP}]", EXAMPLE: f"steps = [{_A_STEP}]"},
        ),
    ]


def load_walks(files: Iterable[Path]) -> dict[str, WalkThrough]:
    """Walk-throughs by name; those of a later file count. Raises GrammarError (one line)."""
    found: dict[str, WalkThrough] = {}
    for file in files:
        for name, walk in read_sections(file, WrittenWalk, GrammarError).items():
            found[name] = _walk(Place(file, GrammarError, (name,)), name, walk)
    return found


def _walk(place: Place, name: str, walk: WrittenWalk) -> WalkThrough:
    first = place.inside("steps").inside(1)
    if not walk.steps[0].safety:
        raise first.refuse(
            "is not a safety step, allowed is one with safety = true, machine off "
            "and unplugged; put that first."
        )
    return WalkThrough(name, tuple(Step(step.say, step.safety, step.caution) for step in walk.steps))

"""A walk-through as the kitchen wrote it: steps in order, each with what to say. Values only."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One step. `caution` is said before it; a `safety` step is never passed over in silence."""

    say: str
    safety: bool = False
    caution: str | None = None


@dataclass(frozen=True, slots=True)
class WalkThrough:
    """Steps under the name by which the cook asks for them."""

    name: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Walking:
    """A walk-through that was begun: at step `at` (from 0), skipped steps by number.

    The steps are those it was begun with, whatever the kitchen's file says by now. `left_at`: when it was
    left (s); None while it is being walked.
    """

    name: str
    steps: tuple[Step, ...]
    began_at: float
    at: int = 0
    skipped: tuple[int, ...] = ()
    left_at: float | None = None

    @property
    def step(self) -> Step:
        """The step that is open."""
        return self.steps[self.at]

    @property
    def first_caution(self) -> Step | None:
        """The safety step that it begins with, if it does."""
        return self.steps[0] if self.steps[0].safety else None

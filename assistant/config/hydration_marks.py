"""The marks of a batch as a kitchen writes them, in its settings or in a recipe: low, target and high."""

from typing import Annotated

from assistant.config.toml_words import within
from assistant.dough.ranges import TARGET_PCT

Hydration = Annotated[float, within(TARGET_PCT)]
"""A hydration that may be aimed at: water per 100 of flour."""


def out_of_order(*, low_pct: float, target_pct: float, high_pct: float) -> str | None:
    """What is wrong with marks that are not in their order, and what to do; None where they are."""
    if low_pct <= target_pct <= high_pct:
        return None
    return (
        f"low_pct = {low_pct:g}, target_pct = {target_pct:g}, high_pct = {high_pct:g}: low must not be "
        "above target, nor target above high; change one of them."
    )

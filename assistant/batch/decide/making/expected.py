"""How unexpected a mass is at this moment of the batch. Pure.

Common practice, no source: cooks pour round figures towards the next mark.
"""

from assistant.batch.record.batch import Batch
from assistant.batch.record.hopper.entries import OUT, EntryKind

LEAST_ENTRY_G = 5.0
"""Less than this (g) of anything is hardly meant."""


def surprise_of(batch: Batch, kind: EntryKind, grams: float, *, instead_of: float | None = None) -> float:
    """0 for a mass (g) that is expected now, to 1 for one that could hardly be meant.

    Past what the batch can take, else by its roundness; what reaches a mark is expected. `instead_of`: mass
    of the entry that it corrects, or of an addition by the recipe; None where there is none.
    """
    if grams < LEAST_ENTRY_G:
        return 1.0
    was = instead_of or 0.0
    if kind == "addition":
        return 1.0 if batch.product_g + grams > batch.hopper_g + was else roundness(grams, 5.0)
    if kind == "flour":
        return 1.0 if batch.product_g - was + grams > batch.hopper_g else roundness(grams, 5.0)
    if kind in OUT.values():
        return 1.0 if grams > batch.product_g + was else roundness(grams, 5.0)
    if kind == "scrap":
        return 1.0 if grams > batch.product_g / 3 else roundness(grams, 5.0)
    if instead_of is not None and abs(grams - instead_of) < 1:
        return 0.7
    to_low, to_target, to_high = map(batch.to_pour_g, (batch.low_pct, batch.target_pct, batch.high_pct))
    marks = (to_target, to_high, to_low, batch.to_first_pour_g, batch.to_next_g)
    if instead_of is None and any(abs(grams - mark) <= 1.0 for mark in marks):
        return 0.0
    return 1.0 if grams > to_high + was + 1.0 else roundness(grams, 10.0 if grams >= 100 else 5.0)


def roundness(grams: float, step: float) -> float:
    """0 for multiples of the step, more for what is less round, 0.6 for an odd figure."""
    for surprise_of_step, multiple in ((0.0, step), (0.25, step / 2), (0.4, step / 5)):
        if multiple > 1 and grams % multiple == 0:
            return surprise_of_step
    return 0.6

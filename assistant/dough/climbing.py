"""A lot that climbs: batch after batch its crumb was ready at more water than the time before. Pure.

Drift (`flour_memory`) weighs all that is known of a lot and is certain late. A climb is what a cook sees on
the last sheets: flour that dries in an open bag, or scales that wander. That five in a row are worth a word
is common practice, no source; of batches that only scatter one run of five in 120 looks so.
"""

from collections.abc import Sequence

CLIMB_BATCHES = 5
"""Batches in a row, each ready higher than the one before, that are called."""
LEAST_CLIMB_PCT = 0.05
"""Higher means by more than this (points): a gram of water on two kilos of flour."""
_ROUNDING = 1e-9


def climbed(ready_pcts: Sequence[float]) -> int:
    """How many batches the climb has that the newest batch ends, by their hydrations when ready (%).

    Oldest first; the batch that the climb began from counts. 0 without a batch, 1 where the newest is not
    higher than the one before.
    """
    run = min(1, len(ready_pcts))
    while run < len(ready_pcts) and ready_pcts[-run] - ready_pcts[-run - 1] > LEAST_CLIMB_PCT + _ROUNDING:
        run += 1
    return run


def is_called(batches: int) -> bool:
    """Whether a climb of so many batches is called: with the fifth batch, and with every fifth after it."""
    return batches > 0 and batches % CLIMB_BATCHES == 0

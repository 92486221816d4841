"""What a kitchen uses in a week, and how sure that is, from what it used in the weeks before. Masses g.

A prediction interval for one more week of the same kind: mean +- t s sqrt(1 + 1/n), with Student's t. Nine
weeks in ten are inside, one in twenty needs more than its upper end. It takes the weeks for independent and
near normal: a holiday, a fair or another menu is not in it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

LEAST_WEEKS = 4
"""With fewer weeks the interval is wider than what it is about: assumption of ours."""
MOST_WEEKS = 26
"""The newest half year counts, for a kitchen changes: assumption of ours."""
_T95 = (
    *(6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812, 1.796, 1.782, 1.771),
    *(1.761, 1.753, 1.746, 1.740, 1.734, 1.729, 1.725, 1.721, 1.717, 1.714, 1.711, 1.708),
)
"""Student's t at 95 %, for 1 to 25 degrees of freedom: any table of it."""


@dataclass(frozen=True, slots=True)
class WeeklyUse:
    """What a week takes of something."""

    weeks: int
    """Weeks that it rests on."""
    mean_g: float
    least_g: float | None
    """Lower end of the interval; None with too few weeks."""
    most_g: float | None
    """Upper end of the interval: enough in nineteen weeks of twenty; None with too few weeks."""


def weekly_use(weeks_g: Sequence[float]) -> WeeklyUse:
    """Use of a week from whole weeks, oldest first, those without any among them."""
    newest = weeks_g[-MOST_WEEKS:]
    count = len(newest)
    mean = fmean(newest) if newest else 0.0
    if count < LEAST_WEEKS:
        return WeeklyUse(count, mean, None, None)
    half = _T95[count - 2] * stdev(newest) * sqrt(1.0 + 1.0 / count)
    return WeeklyUse(count, mean, max(0.0, mean - half), mean + half)

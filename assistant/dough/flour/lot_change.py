"""Whether an open lot has moved: flour dries in an open bag, or takes up damp.

Shiryaev's rule (Theory Probab. Appl. 8:22, 1963, from memory): after each batch the probability that the lot
has moved by now, by about a point up or down, with any batch as the first of those that moved as likely as
any other. It is exact on a grid of means, for verdicts are bounds a point wide, and a normal with the moments
of such a belief forgets where its edges are: two cumulative sums over such normals heard less. From `CERTAIN`
on the lot has moved, and what was known before is widened. Outliers are allowed for, so that one misweighed
batch is no change. `tests/bench/FLOUR.md` has how soon a change is heard, how often one that is none is, and
what those hear who know more than anybody can.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, floor, isinf, sqrt

from assistant.dough.censored import Noise, distribution, seen
from assistant.dough.evidence import Bounds
from assistant.dough.lots import Seen

MOVE_STEPS = 4
"""What is listened for: a lot that moves by a point, in steps of the grid."""
STEP_PCT, HALF_WIDTH_PCT = 0.25, 3.25
"""Grid of means: steps, and how far it reaches from the middle of what the first batches say (points)."""
MOVES_SHARE = 0.01
"""Of so many batches one begins a move (assumption)."""
CERTAIN = 0.9
"""Probability from which a lot has moved: one false alarm in 50 lots at most, see the benchmark."""
FORGET_SD = 0.9
"""Standard deviation (points) by which what is known of a lot widens where it has moved."""
SETTLED = 4
"""Batches from which a lot is known at all: before them it has not moved, it was another than expected."""
_LEAST_LIKELY = 1e-3
"""No batch is less likely than this under any mean: what nobody thought of happens too."""
MOVE_SD = 0.45
"""How far a move may be from a point (points, standard deviation), where its size is told."""
_WAYS = (MOVE_STEPS, -MOVE_STEPS)
_SIZE = round(2 * HALF_WIDTH_PCT / STEP_PCT) + 1
_MEANS = _SIZE + 2 * MOVE_STEPS
_FINER, _REACH_PCT = 5, 12.0
"""Table of the noise: places for a step of the grid, and how far it goes (points)."""


@dataclass(frozen=True, slots=True)
class Change:
    """A lot that has moved."""

    since: int
    """Place of the first batch that it is heard in, among those of the lot."""
    heard: int
    """Place of the batch by which it was certain."""
    points: float
    """How far it has moved by then (points of hydration)."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What is heard of a lot's moves."""

    certain: tuple[Change, ...] = ()
    maybe_since: int = 0
    """Place of the batch from which on it may have moved again."""
    maybe: float = 0.0
    """Probability of that (0 to 1)."""


class _Belief:
    """A lot's mean on the grid, as it was before a move: where it stays, and where it has moved since."""

    def __init__(self, stays: list[float]) -> None:
        self.stays = stays
        nothing = [0.0] * len(stays)
        self.moved = dict.fromkeys(_WAYS, nothing)
        """By steps moved: probability of each mean."""
        self.begun = dict.fromkeys(_WAYS, nothing)
        """The same, each beginning of a move times its place."""

    @property
    def share_moved(self) -> float:
        """Probability that it has moved."""
        moved = self._moved
        return moved / (sum(self.stays) + moved)

    @property
    def _moved(self) -> float:
        return sum(map(sum, self.moved.values()))

    @property
    def since(self) -> int:
        """Place of the batch that the move began with, in the mean."""
        moved = self._moved
        return round(sum(map(sum, self.begun.values())) / moved) if moved > 0.0 else 0

    @property
    def way(self) -> int:
        """The likelier way, in steps."""
        return max(_WAYS, key=lambda way: sum(self.moved[way]))

    def see(self, likely: Sequence[float], place: int) -> None:
        """Take in a batch: `likely` under each mean, the grid longer by `MOVE_STEPS` at both ends."""
        begins = MOVES_SHARE / len(_WAYS) if place >= SETTLED else 0.0
        rest = 1.0 - begins * len(_WAYS)
        for way in _WAYS:
            here = likely[MOVE_STEPS + way :]
            rows = zip(self.moved[way], self.begun[way], self.stays, here, strict=False)
            both = [
                ((moved + begins * before) * fit, (begun + begins * place * before) * fit)
                for moved, begun, before, fit in rows
            ]
            self.moved[way] = [moved for moved, _ in both]
            self.begun[way] = [begun for _, begun in both]
        self.stays = [rest * one * fit for one, fit in zip(self.stays, likely[MOVE_STEPS:], strict=False)]

    def moved_on(self) -> "_Belief":
        """The belief about a lot that has moved for certain, and may move again."""
        size = len(self.stays)
        now = [sum(self.moved[way][at - way] for way in _WAYS if 0 <= at - way < size) for at in range(size)]
        whole = sum(now)
        return _Belief([one / whole for one in now])


def moves_of(own: Sequence[Seen], mean: float, variance: float, noise: Noise) -> Moves:
    """How a lot has moved, by its batches, oldest first.

    `mean`, `variance`: what is believed of it before the first; `noise`: of its batches.
    """
    if len(own) <= SETTLED:
        return Moves()
    middle, _ = _followed(own[:SETTLED], mean, variance, noise)
    first = middle - HALF_WIDTH_PCT
    prior = [exp(-0.5 * (first + STEP_PCT * step - mean) ** 2 / variance) for step in range(_SIZE)]
    below = _distribution(tuple(noise))
    belief, found, known_from = _Belief([one / sum(prior) for one in prior]), list[Change](), 0
    for place, batch in enumerate(own):
        belief.see(_likely(first - STEP_PCT * MOVE_STEPS, batch.bounds, below), place)
        if belief.share_moved < CERTAIN:
            continue
        since = belief.since
        before, left = _followed(own[known_from:since], mean, variance, noise)
        moved = before + STEP_PCT * belief.way
        mean, variance = _followed(own[since : place + 1], moved, left + MOVE_SD**2, noise)
        found.append(Change(since, place, mean - before))
        belief, known_from = belief.moved_on(), place + 1
    return Moves(tuple(found), belief.since, belief.share_moved)


def _followed(own: Sequence[Seen], mean: float, variance: float, noise: Noise) -> tuple[float, float]:
    """Mean and variance of the belief about a lot after these batches."""
    for batch in own:
        _, mean, variance = seen(mean, variance, batch.bounds.low, batch.bounds.high, noise)
    return mean, variance


def _likely(first: float, found: Bounds, below: Sequence[float]) -> list[float]:
    """How likely bounds are where a lot's mean is at each point of the grid, that begins at `first`."""
    highs, lows = _below(found.high - first, below), _below(found.low - first, below)
    return [_LEAST_LIKELY + high - low for high, low in zip(highs, lows, strict=True)]


def _below(edge: float, below: Sequence[float]) -> Sequence[float]:
    """Probability that a batch ends below an edge, this far above the first mean, under each mean."""
    if isinf(edge):
        return [float(edge > 0.0)] * _MEANS
    beyond = _REACH_PCT - STEP_PCT * _MEANS
    at = (min(max(edge, -beyond), _REACH_PCT - STEP_PCT) + _REACH_PCT) * _FINER / STEP_PCT
    left = floor(at)
    share, least = at - left, left - _FINER * (_MEANS - 1)
    rows = zip(below[least : left + 1 : _FINER], below[least + 1 : left + 2 : _FINER], strict=True)
    return [(1.0 - share) * one + share * other for one, other in rows][::-1]


@lru_cache(maxsize=4)
def _distribution(noise: Noise) -> tuple[float, ...]:
    """Of batches around their lot's mean, from `_REACH_PCT` below to above it."""
    places = round(2 * _REACH_PCT * _FINER / STEP_PCT)
    return tuple(
        sum(
            share * distribution((STEP_PCT / _FINER * place - _REACH_PCT) / sqrt(variance))
            for share, variance in noise
        )
        for place in range(places + 1)
    )

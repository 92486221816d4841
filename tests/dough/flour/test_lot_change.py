"""An open lot that moves is heard, once; scatter, one bad batch, and another lot than expected are not."""

import pytest

from assistant.dough.evidence import Bounds
from assistant.dough.flour.lot_change import SETTLED, moves_of
from assistant.dough.flour.lot_history import noise
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen
from tests.dough.test_lots import DAY, lot, scattered

USUAL = noise(0.3)


def heard(ends: list[float], width: float = 0.6) -> list[tuple[int, int, float]]:
    moves = moves_of(lot("12", ends, width=width).seen, 31.0, 1.0, USUAL)
    return [(one.since, one.heard, one.points) for one in moves.certain]


@pytest.mark.parametrize("points", [1.0, -1.0])
def test_a_point_is_heard_within_six_batches(points: float) -> None:
    """In nine of ten lots with ten batches before it: batches scatter (0.3 points), verdicts are wide."""
    late = []
    for seed in range(40):
        ends = [*scattered(31.0, 10, seed, 0.3), *scattered(31.0 + points, 8, 100 + seed, 0.3)]
        found = [one for one in heard(ends) if one[1] >= 10]
        late.append(found[0][1] - 9 if found else 99)
        if found:
            assert abs(found[0][2] - points) < 0.7
    assert sum(one <= 6 for one in late) >= 36


def test_false_alarms_are_rare() -> None:
    """At most one in 50 lots of 16 batches: 100 lots."""
    alarms = sum(len(heard(scattered(31.0, 16, seed, 0.3))) for seed in range(100))
    assert alarms <= 2


@pytest.mark.parametrize("far", [1.5, -1.5])
def test_one_batch_that_was_misweighed_is_no_change(far: float) -> None:
    ends = scattered(31.0, 16, 5, 0.2)
    ends[9] += far
    assert heard(ends) == []


def test_a_lot_that_is_another_than_expected_has_not_moved() -> None:
    assert SETTLED >= 2
    assert heard(scattered(33.0, 12, 3, 0.2)) == []


def test_what_speaks_for_a_change_widens_before_it_is_certain() -> None:
    ends = [31.0] * 8
    suspicion = [moves_of(lot("12", [*ends, *[32.1] * n]).seen, 31.0, 1.0, USUAL) for n in (0, 1, 2)]
    assert [one.certain for one in suspicion[:2]] == [(), ()]
    assert suspicion[0].maybe < suspicion[1].maybe
    steady, moved = (FlourMemory([lot("12", [*ends, *[32.1] * n])]).forecast("12", DAY + 5) for n in (0, 1))
    assert moved.high_pct > steady.high_pct + 0.1


def test_it_is_told_once_and_forgotten_from() -> None:
    ends = [*scattered(31.0, 10, 1, 0.2), *scattered(32.2, 8, 2, 0.2)]
    told = []
    for count in range(3, len(ends) + 1):
        found = FlourMemory([lot("12", ends[:count])]).forecast("12", DAY + 10)
        if found.moved_now:
            told.append(count)
            assert 0.5 < found.drift_points < 1.7
    assert len(told) == 1
    assert 10 < told[0] <= 16
    last = FlourMemory([lot("12", ends)]).forecast("12", DAY + 10)
    assert last.drift_points > 0
    assert last.likely_pct == pytest.approx(32.2, abs=0.35)


def test_a_batch_that_nobody_squeezed_does_not_tell_it_again() -> None:
    ends = [*scattered(31.0, 10, 1, 0.2), *scattered(32.4, 6, 2, 0.2)]
    whole = next(
        record
        for n in range(10, 17)
        if FlourMemory([record := lot("12", ends[:n])]).forecast("12", DAY + 10).moved_now
    )
    later = LotRecord(whole.lot, whole.flour, None, whole.seen, newest=whole.seen[-1].batch + 1)
    assert not FlourMemory([later]).forecast("12", DAY + 10).moved_now


def test_a_lot_without_batches_has_not_moved() -> None:
    assert moves_of([], 31.0, 1.0, USUAL).maybe == 0.0
    one = Seen(DAY, Bounds(30.5, 31.0), 1)
    assert moves_of([one], 31.0, 1.0, USUAL).certain == ()


def test_slow_drift_is_heard_too() -> None:
    """Flour that dries by 0.15 points a batch has moved by a point after seven."""
    heard_in = []
    for seed in range(20):
        ends = scattered(31.0, 8, seed, 0.25)
        ends += [end + 0.15 * (k + 1) for k, end in enumerate(scattered(31.0, 14, 50 + seed, 0.25))]
        found = [one for one in heard(ends) if one[1] >= 8]
        heard_in.append(found[0][1] - 7 if found else 99)
    assert sorted(heard_in)[len(heard_in) // 2] <= 13

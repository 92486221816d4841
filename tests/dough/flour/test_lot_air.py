"""Lots by the air of their store, against the kitchen's own usual air and what was put in."""

import random
from dataclasses import replace

import pytest

from assistant.dough.evidence import Bounds
from assistant.dough.flour.lot_air import SHARE, LotInAir, StoreAir, learned_share
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen

DAY = 20_000.0


def kitchen(share: float, *, lots: int = 8) -> list[LotRecord]:
    """Lots of ten batches in turn after damp and dry weeks; flour follows the air before it by `share`."""
    luck, made = random.Random(4), []
    for number in range(lots):
        lay = 15.0 if number % 2 else -15.0
        own = []
        for batch in range(10):
            # 0.15 points of moisture a point of humidity, 1.52 of hydration a point of moisture.
            end = 31.3 - share * 1.52 * 0.15 * lay + luck.gauss(0.0, 0.25)
            # The next lot lies in the air that this one is used in.
            pct = 60.0 - lay + luck.gauss(0.0, 3.0)
            day = DAY + 30.0 * number + 3.0 * batch
            own.append(Seen(day, Bounds(end - 0.4, end + 0.4), batch, humidity_pct=pct))
        made.append(LotRecord(str(number), seen=tuple(own)))
    return made


def wanted(records: list[LotRecord], pct: float | None = None) -> float:
    """Likely end (%) of a new lot that is opened after the last of these."""
    return FlourMemory(records).forecast("new", records[-1].seen[-1].day + 1.0, humidity_pct=pct).likely_pct


def told(pct: float, count: int = 4, day: float = DAY) -> list[Seen]:
    return [Seen(day, Bounds(30.0, 31.0), number, humidity_pct=pct) for number in range(count)]


@pytest.mark.parametrize("damper", [-25.0, 0.0, 20.0])
def test_a_kitchen_that_is_always_dry_or_damp_shifts_no_lot(damper: float) -> None:
    steady = [
        replace(one, seen=tuple(replace(batch, humidity_pct=60.0 + damper) for batch in one.seen))
        for one in kitchen(0.0)
    ]
    silent = [
        replace(one, seen=tuple(replace(batch, humidity_pct=None) for batch in one.seen)) for one in steady
    ]
    assert wanted(steady, 60.0 + damper) == pytest.approx(wanted(silent), abs=1e-6)


def test_how_far_flour_follows_the_air_is_learned() -> None:
    follows, stays = (FlourMemory(kitchen(share)).store_share for share in (0.6, 0.0))
    assert follows == pytest.approx(0.6, abs=0.2)
    assert stays < SHARE
    assert FlourMemory([LotRecord("1", seen=tuple(told(60.0)))]).store_share == pytest.approx(SHARE)


def test_a_lot_that_lay_in_damp_air_is_expected_to_want_less() -> None:
    """The sign is that of any sorption isotherm; the size, where flour follows, near what was put in."""
    damp, dry = kitchen(0.6, lots=9), kitchen(0.6)
    assert wanted(dry) == pytest.approx(31.3 + 0.6 * 1.52 * 0.15 * 15.0, abs=0.75)
    assert wanted(damp) == pytest.approx(31.3 - 0.6 * 1.52 * 0.15 * 15.0, abs=0.75)


def test_it_changes_little_where_flour_does_not_follow() -> None:
    assert wanted(kitchen(0.0)) == pytest.approx(wanted(kitchen(0.0, lots=9)), abs=0.6)


def test_a_measured_lot_goes_by_its_measurement() -> None:
    day = kitchen(0.6)[-1].seen[-1].day + 1.0
    memory = FlourMemory(kitchen(0.6))
    measured, unmeasured = (
        [memory.forecast(LotRecord("new", moisture_pct=pct), on).likely_pct for on in (day, day - 30.0)]
        for pct in (14.0, None)
    )
    # The season may differ.
    assert measured[0] == pytest.approx(measured[1], abs=0.3)
    assert abs(unmeasured[0] - unmeasured[1]) > 2.0


def test_too_little_told_or_told_elsewhere_says_nothing() -> None:
    assert StoreAir.of(told(80.0, 2)).swing_points(DAY, 31.0) == 0.0
    air = StoreAir.of([*told(50.0, 4, DAY - 100.0), *told(80.0, 2)])
    assert air.swing_points(DAY, 31.0) == 0.0
    assert air.swing_points(DAY, 31.0, 80.0) < -1.0
    elsewhere = [replace(one, station="harbour") for one in told(80.0)]
    assert StoreAir.of(elsewhere).usual_pct is None


@pytest.mark.parametrize("pct", [0.0, 100.0])
def test_air_beyond_the_isotherm_is_taken_at_its_edge(pct: float) -> None:
    air = StoreAir.of([*told(60.0, 4, DAY - 100.0), *told(pct)])
    edge = StoreAir.of([*told(60.0, 4, DAY - 100.0), *told(95.0 if pct else 10.0)])
    assert abs(air.swing_points(DAY, 31.0)) == pytest.approx(abs(edge.swing_points(DAY, 31.0)), rel=0.2)


def test_the_share_stays_between_none_and_all() -> None:
    backwards = [LotInAir("a", swing, 0.01, swing * -1.0) for swing in (-3.0, 3.0)]
    beyond = [LotInAir("a", swing * 4.0, 0.01, swing) for swing in (-5.0, 5.0)]
    assert (learned_share(backwards), learned_share(beyond)) == (0.0, 1.0)

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.devices.scale.pouring import (
    Drifted,
    Dripped,
    Happening,
    Jug,
    NotAlone,
    PlateState,
    Pour,
    Refill,
    Unsteady,
)
from tests.devices.scale.plate import Plate

FULL = 1800.0


def watch(plate: Plate, jug: Jug | None = None) -> list[Happening]:
    """What happened, without the zeros that were found on the empty plate."""
    jug = jug or Jug()
    found = list[Happening]()
    for at, grams in zip(*plate.grams(), strict=True):
        found += jug.feed(float(grams), float(at))
    return [one for one in found if not isinstance(one, Drifted)]


def rounded(found: list[Happening]) -> list[tuple[type, int]]:
    """What happened, to the nearest 5 g."""
    return [(type(one), round(getattr(one, "grams", 0.0) / 5) * 5) for one in found]


def pours(plate: Plate) -> list[float]:
    found = watch(plate)
    assert all(isinstance(one, Pour) and one.sure for one in found), found
    return [one.grams for one in found if isinstance(one, Pour)]


def standing(rate: float = 80.0, **how: float) -> Plate:
    plate = Plate(rate, **how)  # type: ignore[arg-type]
    return plate.stay(2).move(FULL, 0.3).stay(5)


RATES = (10.0, 80.0)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("motor_g", [0.0, 3.0])
@pytest.mark.parametrize("poured", [15.0, 150.0, 465.0])
def test_a_pour_is_found(rate: float, motor_g: float, poured: float) -> None:
    plate = standing(rate, motor_g=motor_g).lift(4, FULL - poured).stay(6)
    assert pours(plate) == [pytest.approx(poured, abs=2.0)]


@pytest.mark.parametrize("rate", RATES)
def test_several_pours_in_a_row(rate: float) -> None:
    plate = standing(rate)
    for left in (1650.0, 1500.0, 1485.0):
        plate.lift(3, left).stay(4)
    assert pours(plate) == [pytest.approx(g, abs=1.0) for g in (150, 150, 15)]


def test_two_lifts_without_a_rest_between_are_one_pour() -> None:
    plate = standing().lift(2, FULL - 60).stay(0.5).lift(2, FULL - 100).stay(4)
    assert pours(plate) == [pytest.approx(100, abs=1.0)]


def test_the_answer_comes_soon_after_the_jug_is_back() -> None:
    plate = standing().lift(4, FULL - 150)
    back = plate.at
    jug, answered = Jug(), list[float]()
    for at, grams in zip(*plate.stay(6).grams(), strict=True):
        answered += [at for one in jug.feed(float(grams), float(at)) if isinstance(one, Pour)]
    assert len(answered) == 1
    assert 1.0 < answered[0] - back < 2.6


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(
    "happens",
    [
        lambda p: p.lift(3, FULL),  # looked into
        lambda p: p.shake(60, 0.5),  # bumped
        lambda p: p.move(FULL + 300, 0.3).stay(3).move(FULL, 0.3),  # a hand rested on it
        lambda p: p.move(FULL + 300, 0.2).stay(0.4).move(FULL, 0.2),  # touched
        lambda p: p.move(FULL - 3, 30),  # a damp outside dries
    ],
    ids=["lifted", "bumped", "rested on", "touched", "dried"],
)
def test_what_is_no_pour_is_nothing(rate: float, happens: "object") -> None:
    plate = standing(rate)
    happens(plate)  # type: ignore[operator]
    assert watch(plate.stay(6)) == []


@pytest.mark.parametrize("rate", RATES)
def test_a_refill_is_no_pour(rate: float) -> None:
    plate = standing(rate).lift(5, FULL + 400).stay(5)
    assert rounded(watch(plate)) == [(Refill, 400)]


def test_a_tap_that_runs_into_the_standing_jug_is_no_pour_and_the_next_one_counts() -> None:
    plate = standing().move(FULL + 500, 8).stay(14).lift(4, FULL + 350).stay(5)
    assert rounded(watch(plate)) == [(Pour, 150)]


def test_a_jug_that_drips_is_reported_and_never_logged() -> None:
    found = watch(standing().move(FULL - 40, 60).stay(5))
    assert found
    assert all(isinstance(one, Dripped) for one in found)
    assert sum(one.grams for one in found if isinstance(one, Dripped)) == pytest.approx(40, abs=9)


def test_a_pour_right_after_something_pressed_on_the_jug_is_asked_about() -> None:
    found = watch(standing().move(FULL + 200, 0.3).stay(3).lift(3, FULL - 100).stay(5))
    assert [type(one) for one in found] == [Pour]
    assert not getattr(found[0], "sure", True)


def test_a_second_jug_next_to_the_first_is_reported() -> None:
    plate = standing().move(FULL + 900, 0.3).stay(15).move(900, 0.3).stay(6)
    assert watch(plate) == [NotAlone()]


def test_a_table_that_shakes_is_reported_once_and_the_pour_still_found() -> None:
    plate = standing().lift(4, FULL - 150)
    plate.shake(120, 12).stay(12).stay(6)
    assert rounded(watch(plate)) == [(Unsteady, 0), (Pour, 150)]


@pytest.mark.parametrize("motor_g", [5.0, 10.0])
def test_a_motor_makes_readings_coarser_not_impossible(motor_g: float) -> None:
    jug = Jug()
    plate = standing(motor_g=motor_g).stay(10).lift(4, FULL - 200).stay(8)
    assert rounded(watch(plate, jug)) == [(Pour, 200)]
    assert jug.band_g > 8.0


def test_the_zero_is_found_again_whenever_the_jug_is_off() -> None:
    jug = Jug()
    plate = standing(zero_g=12.0).lift(6, FULL - 100).stay(5)
    assert rounded(watch(plate, jug)) == [(Pour, 100)]
    assert jug.zero_g == pytest.approx(12.0, abs=1.0)
    assert jug.level_g == pytest.approx(FULL - 100, abs=1.5)


def test_drift_between_pours_does_not_count() -> None:
    plate = standing(drift_g_per_h=20.0).stay(300).lift(4, FULL - 150).stay(5)
    assert pours(plate) == [pytest.approx(150, abs=1.0)]


def test_zeroing_wants_an_empty_steady_plate() -> None:
    jug = Jug()
    assert jug.tare() is None
    watch(Plate(zero_g=7.0).stay(3), jug)
    assert jug.tare() == pytest.approx(7.0, abs=0.3)
    assert jug.level_g == pytest.approx(0.0, abs=0.3)
    loaded = Jug()
    watch(standing(), loaded)
    assert loaded.state is PlateState.STANDING
    assert loaded.tare() is None


@given(st.lists(st.floats(-3000, 6000), min_size=1, max_size=120))
def test_no_samples_break_it_and_none_pour_without_a_lift(readings: list[float]) -> None:
    jug, lifted = Jug(), False
    for index, grams in enumerate(readings):
        for one in jug.feed(grams, index * 0.1):
            assert not isinstance(one, Pour) or lifted
        lifted = lifted or jug.state is PlateState.LIFTED


@pytest.mark.parametrize("rate", RATES)
def test_a_jug_that_is_put_on_is_not_taken_for_touched(rate: float) -> None:
    found = watch(Plate(rate, seed=3).stay(1).move(FULL, 0.3).stay(6).lift(4, FULL - 200).stay(5))
    assert found
    assert all(isinstance(one, Pour) and one.sure for one in found)

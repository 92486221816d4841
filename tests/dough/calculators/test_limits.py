"""Published tables: errors of scales, hours of noise, and what water activity says of keeping. Sources beside
each."""

import pytest

from assistant.dough.calculators.keeping import fresh_in_italy, temperature_control
from assistant.dough.calculators.noise_hours import hours
from assistant.dough.calculators.scale_class import (
    cell_creep,
    cell_error,
    class_iii_error_g,
    hb44_tolerance,
    hydration_error_points,
)
from assistant.errors import DoughError


@pytest.mark.parametrize(
    ("load", "initial"), [(0, 0.5), (400, 0.5), (500, 0.5), (501, 1.0), (2000, 1.0), (2001, 1.5), (5000, 1.5)]
)
def test_class_iii_with_steps_of_a_gram(load: float, initial: float) -> None:
    """Source: UK SI 1995/1907 schedule 2 paragraph 4 table 3, and 4.2 for in service, V."""
    assert class_iii_error_g(load, 1) == initial
    assert class_iii_error_g(load, 1, in_service=True) == 2 * initial


def test_a_coarse_scale_under_a_hopper() -> None:
    """Source: the same table, V; the hydration by mass balance, D: 10 g on 3 kg of flour."""
    assert (class_iii_error_g(3930, 5), class_iii_error_g(3930, 5, in_service=True)) == (5, 10)
    assert hydration_error_points(3000, 10) == pytest.approx(0.33, abs=0.01)


def test_us_maintenance_tolerance() -> None:
    """Source: NIST Handbook 44 section 2.20 table 6, quoted in a forum, V (rows 3 and 4); the others M."""
    assert hb44_tolerance(150, 0.05) == pytest.approx(0.15)
    assert hb44_tolerance(500, 0.05) == pytest.approx(0.25)
    assert hb44_tolerance(25, 0.05) == pytest.approx(0.05)


def test_a_load_cell_of_class_c() -> None:
    """Source: OIML R 60-1 5.5.1, V; the steps of its table 4, M."""
    assert cell_error(3000) == pytest.approx(1.05)
    assert list(cell_creep(3000)) == pytest.approx([0.735, 0.1575], abs=0.001)


def test_a_scale_that_can_not_be_is_told() -> None:
    with pytest.raises(
        DoughError, match=r"^load 30000 on a scale in steps of 1: class III has up to 10000 steps; "
    ):
        class_iii_error_g(30_000, 1)
    with pytest.raises(DoughError, match=r"^load 300 on a scale in steps of 0: both are above 0; "):
        class_iii_error_g(300, 0)


@pytest.mark.parametrize(
    ("dba", "permitted"),
    [
        (85, 16),
        (90, 8),
        (95, 4),
        (100, 2),
        (105, 1),
        (92, 6.06),
        (97, 3.03),
        (102, 1.52),
        (110, 0.5),
        (115, 0.25),
    ],
)
def test_hours_of_noise(dba: float, permitted: float) -> None:
    """Source: 29 CFR 1910.95 table G-16, V (it prints 6, 3 and 1.5 for 92, 97 and 102); 85 by appendix A,
    M."""
    assert hours(dba) == pytest.approx(permitted, abs=0.01)


@pytest.mark.parametrize(
    ("activity", "ph", "said"),
    [
        (0.95, 6, "product assessment"),
        (0.87, 6, "not by this table"),
        (0.95, 4.1, "not by this table"),
        # The cells between were not read: the stricter answer.
        (0.88, 6, "product assessment"),
        (0.95, 4.2, "product assessment"),
    ],
)
def test_the_food_codes_table_b(activity: float, ph: float, said: str) -> None:
    """Source: US Food Code 1-201.10 table B, V."""
    assert temperature_control(activity, ph) == said


@pytest.mark.parametrize(
    ("moisture", "activity", "fresh"),
    [
        (31, 0.96, True),
        (31, 0.98, False),
        (23, 0.95, False),
        (24, 0.92, True),
        (24, 0.97, True),
        (31, 0.91, False),
    ],
)
def test_fresh_pre_packed_pasta_in_italy(moisture: float, activity: float, fresh: bool) -> None:
    """Source: DPR 187/2001 art. 9 c. 5, V."""
    assert fresh_in_italy(moisture, activity) == fresh

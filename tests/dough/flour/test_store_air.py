"""Moisture of flour by the air of its store, against published figures.

The isotherm is that of ASAE D245.5 for durum wheat, its constants from memory (title page read, table not).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.flour.store_air import equilibrium_pct, moisture_prior
from assistant.errors import DoughError


def by_the_other_form(humidity_pct: float, celsius: float) -> float:
    """The same standard's form with A, B and C (from memory): RH = exp(-A / (T + C) exp(-B M))."""
    low, high = 0.0, 0.6
    for _ in range(60):
        middle = (low + high) / 2.0
        found = math.exp(-922.65 / (celsius + 112.35) * math.exp(-18.077 * middle))
        low, high = (middle, high) if found < humidity_pct / 100.0 else (low, middle)
    return 100.0 * low / (1.0 + low)


@given(st.floats(10, 95), st.floats(0, 50))
def test_both_forms_of_the_equation_agree(humidity: float, celsius: float) -> None:
    assert equilibrium_pct(humidity, celsius) == pytest.approx(by_the_other_form(humidity, celsius), abs=0.01)


def test_wheat_in_an_extension_bulletin() -> None:
    """Soft red winter wheat at 90 F and 50 % dries to about 10.8 % (extension bulletin on natural-air drying,
    excerpt read): another wheat, within half a point."""
    assert equilibrium_pct(50, 32.2) == pytest.approx(10.8, abs=0.5)


def test_semolina_of_the_tables_lies_where_a_store_is() -> None:
    # SR28 has 12.67 % (NDB 20466); the law's most is 14.5 % in Italy and 15 % in the US (trade, read).
    assert equilibrium_pct(50, 20) < 12.67 < equilibrium_pct(65, 20)
    assert equilibrium_pct(70, 20) < 14.5 < equilibrium_pct(80, 20)


@given(st.floats(10, 94), st.floats(0, 49))
def test_damper_air_makes_damper_flour_and_warmer_air_drier(humidity: float, celsius: float) -> None:
    here = equilibrium_pct(humidity, celsius)
    assert equilibrium_pct(humidity + 1, celsius) > here > equilibrium_pct(humidity, celsius + 1)


@given(st.floats(10, 95), st.floats(0, 50))
def test_the_prior_is_weak_and_lies_between_what_is_delivered_and_the_store(
    humidity: float, celsius: float
) -> None:
    prior, store = moisture_prior(humidity, celsius), equilibrium_pct(humidity, celsius)
    assert min(store, 14.0) <= prior.moisture_pct <= max(store, 14.0)
    assert abs(prior.moisture_pct - 14.0) < abs(store - 14.0) / 2.0 + 1e-9
    # About 1.5 points of hydration for a point of moisture (trade, derived): never sure to half a point.
    assert prior.sd_of_hydration(31.0) > 0.5


def test_a_dry_store_asks_for_more_water() -> None:
    # 1.52 points of hydration a point of moisture at 31 % and 14 % (trade's point 3).
    prior = moisture_prior(45)
    assert prior.hydration_pct(31.0) - 31.0 == pytest.approx(1.52 * (14.0 - prior.moisture_pct), abs=0.01)
    assert moisture_prior(80).hydration_pct(31.0) < 31.0


@pytest.mark.parametrize(("humidity", "celsius"), [(0, 20), (100, 20), (50, -5), (50, 80)])
def test_what_is_no_store_is_refused(humidity: float, celsius: float) -> None:
    with pytest.raises(DoughError):
        equilibrium_pct(humidity, celsius)

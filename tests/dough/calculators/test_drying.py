"""Drying by weight, against a worked table of moisture bases."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.calculators.drying import dried_g
from assistant.dough.moisture import moisture_of_hydration_pct
from assistant.errors import DoughError


def test_a_fresh_dough_to_italys_limit() -> None:
    """Source: mass balance, D; 12.5 %: DPR 187/2001 art. 6 c. 3, V."""
    assert dried_g(1000, 34.351) == pytest.approx(750.27, abs=0.05)
    assert dried_g(1000, moisture_of_hydration_pct(31, 14)) == pytest.approx(750.27, abs=0.05)


@pytest.mark.parametrize(("moisture", "to", "mass"), [(12.5, 14, 1017.44), (15, 14, 988.37)])
def test_mass_at_another_moisture(moisture: float, to: float, mass: float) -> None:
    """Source: fixed-moisture-basis conversion as in PM-1625 (V), D. The first would be wetted: the inverse
    dries."""
    if to < moisture:
        assert dried_g(1000, moisture, to) == pytest.approx(mass, abs=0.01)
    else:
        assert dried_g(mass, to, moisture) == pytest.approx(1000, abs=0.01)


@given(st.floats(1, 50_000), st.floats(10, 60), st.floats(1, 9))
def test_dry_matter_is_kept(mass: float, now: float, wanted: float) -> None:
    assert dried_g(mass, now, wanted) * (100 - wanted) == pytest.approx(mass * (100 - now))
    assert dried_g(mass, now, wanted) < mass


def test_pasta_that_is_that_dry_is_told() -> None:
    with pytest.raises(DoughError) as caught:
        dried_g(1000, 12, 12.5)
    assert str(caught.value) == (
        "pasta of 12 % moisture can't dry to 12.5 %: it is that dry; give a lower moisture, or measure again."
    )

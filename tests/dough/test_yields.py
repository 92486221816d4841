"""Yield, portions, scaling, rescue, and volume of water; sources beside each."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record.rules import BatchRules
from assistant.config.pantry import Pantry
from assistant.config.recipes import Recipes
from assistant.config.settings import Settings
from assistant.dough import amounts, yields
from assistant.dough.hydration import most_flour_g, round_down
from assistant.dough.moisture import moisture_of_hydration_pct
from assistant.errors import DoughError

masses = st.floats(1, 50_000)


def test_portions_of_a_batch() -> None:
    """Source: mass balance, D; 110 g a portion: common practice, no source."""
    dough = yields.dough_g(2000, 31)
    assert dough == pytest.approx(2620, abs=0.05)
    net = yields.net_dough_g(dough, 3)
    assert net == pytest.approx(2541.4, abs=0.05)
    assert yields.portions(net, 110) == 23


def test_flour_and_batches_for_portions() -> None:
    """Source: mass balance, D."""
    flour = yields.flour_for_portions_g(40, 110, 4, 31)
    assert flour == pytest.approx(3498.73, abs=0.05)
    of_one = yields.portions(yields.net_dough_g(yields.dough_g(1500, 31), 4), 110)
    assert yields.batches_for(40, of_one) == 3


def test_what_is_left_of_a_batch_is_no_portion_of_the_next() -> None:
    """Source: mass balance, D: 1170 g of flour make 13.4 portions of 110 g; three batches 39, not 40."""
    of_one = yields.portions(yields.net_dough_g(yields.dough_g(1170, 31), 4), 110)
    assert (of_one, yields.batches_for(40, of_one), yields.batches_for(39, of_one)) == (13, 4, 3)
    with pytest.raises(DoughError, match=r"^a batch of this flour makes no whole portion; "):
        yields.batches_for(1, 0)


def test_nests_of_two_kilos() -> None:
    """Source: common practice, no source: some 50 nests of 52 g from 2,000 g of flour and 600 g of water."""
    assert yields.portions(yields.dough_g(2000, 30), 52) == 50


def test_most_flour_for_a_hopper() -> None:
    """Source: mass balance, D."""
    most = most_flour_g(2000, 31)
    assert most == pytest.approx(1526.72, abs=0.01)
    assert yields.dough_g(round_down(most, 5), 31) <= 2000


def test_cooked_weight() -> None:
    """Source: USDA SR28 NDB 20093 and 20094, C; a professional textbook gives 2 to 2.5, V."""
    ratio = yields.cooked_ratio(31.00, yields.COOKED_WATER_PCT)
    assert ratio == pytest.approx(2.195, abs=0.002)
    assert 2.0 <= ratio <= 2.5


def test_cooked_weight_goes_by_the_moisture_of_the_dough_not_by_its_hydration() -> None:
    """31 % hydration on flour of 14 % is 34.351 % moisture (mass balance, D), and not 31 % of it.

    110 g hold 72.21 g of dry matter, which is 31.44 % of the cooked pasta (USDA SR28 NDB 20094, C): 229.7 g.
    """
    found = yields.yield_of(2620, moisture_of_hydration_pct(31, 14), 110, 3)
    assert found.cooked_portion_g == pytest.approx(110 * (100 - 34.351) / (100 - 68.56), abs=0.01)
    assert found.cooked_portion_g == pytest.approx(229.7, abs=0.05)
    assert found.portions == 23
    assert found.cooked_g == pytest.approx(23 * 229.7, abs=1.2)
    assert found.net_g == pytest.approx(2541.4, abs=0.05)


def test_portion_and_loss_stand_in_one_place() -> None:
    """What settings, rules and shipped recipes say where nobody says otherwise."""
    assert BatchRules().portion_g == Settings().batch.portion_g == yields.USUAL_PORTION_G
    assert Settings().plan.loss_pct == yields.USUAL_LOSS_PCT
    assert {plan.portion_g for plan in Recipes.load(Pantry.load()).plans.values()} == {None}


def test_rescue_by_flour_and_the_hopper() -> None:
    """Source: mass balance, D: 345 g of water in 1,000 g, back to 31 %."""
    found = yields.rescue(1000, 345, 31, 3000)
    assert found.flour_g == pytest.approx(112.90, abs=0.01)
    assert found.dough_g == pytest.approx(1457.9, abs=0.01)
    assert found.whole_g == 113
    assert found.over_hopper_g == 0
    # The dry part of 200 g of egg (47.70 g, USDA SR28 NDB 01123) fills the hopper and changes no flour.
    with_egg = yields.mended(1000, 345, 31, 1400, beside_g=47.70)
    assert with_egg.flour_g == found.flour_g
    assert with_egg.over_hopper_g == pytest.approx(57.9 + 47.70, abs=0.01)
    assert yields.rescue(1000, 345, 31, 1400).over_hopper_g == pytest.approx(57.9, abs=0.01)
    assert yields.rescue(1000, 300, 31, 3000).flour_g == 0


@given(st.floats(500, 2500), st.floats(0.34, 0.6), st.floats(1000, 3000))
def test_what_stays_and_its_flour_fill_the_hopper(flour: float, share: float, hopper: float) -> None:
    """Dough that is taken out is mixed dough: what stays wants flour in its share (mass balance)."""
    water = flour * share
    found = yields.rescue(flour, water, 33, hopper)
    if found.over_hopper_g == 0:
        assert found.with_room_made(flour + water)[0] <= 1
        return
    out, more = found.with_room_made(flour + water)
    kept = 1 - out / (flour + water)
    assert hopper - 2.5 <= (flour + water) * kept + more <= hopper + 1
    assert 33 - 0.1 <= 100 * water * kept / (flour * kept + more) <= 33 + 1e-6


@pytest.mark.parametrize(("celsius", "grams"), [(4, 309.99), (20, 309.44), (40, 307.59), (45, 306.97)])
def test_volume_to_mass(celsius: float, grams: float) -> None:
    """Source: IAPWS-95 by iapws 1.5.5 and CoolProp 8.0.0, C."""
    assert amounts.grams_of_ml(310, celsius) == pytest.approx(grams, abs=0.02)


@pytest.mark.parametrize(("celsius", "millilitres"), [(20, 310.56), (40, 312.43)])
def test_mass_to_volume(celsius: float, millilitres: float) -> None:
    """Source: IAPWS-95, C."""
    assert amounts.millilitres_of_g(310, celsius) == pytest.approx(millilitres, abs=0.02)


@given(masses, st.floats(4, 50))
def test_volume_and_mass_are_inverse(grams: float, celsius: float) -> None:
    assert amounts.grams_of_ml(amounts.millilitres_of_g(grams, celsius), celsius) == pytest.approx(grams)


@given(masses, st.floats(0, 60), st.floats(0, 50), st.floats(10, 500))
def test_portions_never_pass_what_is_there(flour: float, pct: float, loss: float, size: float) -> None:
    net = yields.net_dough_g(yields.dough_g(flour, pct), loss)
    count = yields.portions(net, size)
    assert 0 <= count * size <= net + 1e-6
    assert (count + 1) * size > net - 1e-6


@given(st.integers(1, 200), st.floats(10, 200), st.floats(0, 50), st.floats(0, 60))
def test_flour_for_portions_makes_them(count: int, size: float, loss: float, pct: float) -> None:
    flour = yields.flour_for_portions_g(count, size, loss, pct)
    assert yields.portions(yields.net_dough_g(yields.dough_g(flour, pct), loss), size) == count


@given(masses, st.floats(0, 50))
def test_the_loss_is_what_is_missing(dough: float, loss: float) -> None:
    assert dough - yields.net_dough_g(dough, loss) == pytest.approx(dough * loss / 100, abs=1e-6)


@given(
    st.dictionaries(st.sampled_from(["water", "egg", "salt"]), st.floats(0, 1000)),
    st.floats(100, 5000),
    st.floats(100, 5000),
)
def test_scaling_there_and_back(rest: dict[str, float], flour: float, wanted: float) -> None:
    batch = {"flour": flour, **rest}
    there = yields.scaled(batch, "flour", wanted)
    assert there["flour"] == pytest.approx(wanted)
    assert yields.scaled(there, "flour", flour) == pytest.approx(batch)


@given(masses, st.floats(0, 5000), st.floats(15, 60))
def test_rescue_reaches_the_percent(flour: float, wet: float, pct: float) -> None:
    found = yields.rescue(flour, wet, pct, 3000)
    assert found.flour_g >= 0
    assert 100 * wet / (flour + found.flour_g) <= pct + 1e-9
    assert found.dough_g == pytest.approx(flour + wet + found.flour_g)


def test_wrong_figures_are_told_in_one_line() -> None:
    with pytest.raises(DoughError, match=r"^portion 0 g: more than 0 g is needed; measure it again\.$"):
        yields.portions(1000, 0)
    with pytest.raises(DoughError, match=r"^loss 100 %: from 0 to 50 % is allowed; give another figure\.$"):
        yields.net_dough_g(1000, 100)
    with pytest.raises(
        DoughError, match=r"^no rye among semolina, water; name the flour that is scaled by\.$"
    ):
        yields.scaled({"semolina": 1000, "water": 310}, "rye", 500)

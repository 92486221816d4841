"""Water of ingredients against USDA SR28 and papers; recipes' water in the account of a dough."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.config.pantry import Pantry
from assistant.dough.ingredients import Addition, TooWetError, dough_with, water_in_g, water_to_pour_g
from assistant.errors import DoughError, SettingsError

PANTRY = Pantry.load()


@pytest.mark.parametrize(
    ("name", "grams", "water"),
    [
        ("whole egg", 200, 152.30),
        ("egg yolk", 200, 104.62),
        ("egg white", 100, 87.57),
        ("spinach boiled", 100, 91.21),
        ("tomato puree", 100, 87.88),
        ("kimchi", 100, 94.30),
        ("fish roe", 100, 67.73),
        ("milk", 100, 88.13),
        ("tomato paste", 50, 36.75),
        ("olive oil", 20, 0.00),
        ("sea urchin roe", 100, 79.87),
        ("cuttlefish ink", 20, 17.58),
    ],
)
def test_water_of_an_ingredient(name: str, grams: float, water: float) -> None:
    """Source: USDA SR28, its table, C; sea urchin J. Food Drug Anal. 16(2) V; ink IJFAS 5(3D) 2017 V."""
    assert water_in_g(grams, PANTRY.water_pct(name)) == pytest.approx(water, abs=0.01)


def test_whole_egg_in_a_dough() -> None:
    """Source: mass balance D, egg USDA SR28 C."""
    dough = dough_with(1000, 31, [PANTRY.addition("whole egg", 200)], 14)
    assert dough.pour_g == pytest.approx(157.70, abs=0.01)
    assert dough.mass_g == pytest.approx(1357.7, abs=0.01)
    assert dough.moisture_pct == pytest.approx(33.144, abs=0.01)
    assert dough.water_g == pytest.approx(310)


def test_yolk_in_a_dough() -> None:
    """Source: mass balance D, yolk USDA SR28 C."""
    assert water_to_pour_g(1000, 31, [PANTRY.addition("egg yolk", 250)]) == pytest.approx(179.23, abs=0.01)


def test_ingredients_that_pass_the_target_are_refused_never_negative_water() -> None:
    """Source: mass balance D, egg USDA SR28 C: 456.9 g of water against 310."""
    with pytest.raises(TooWetError) as caught:
        water_to_pour_g(1000, 31, [PANTRY.addition("whole egg", 600)])
    assert str(caught.value) == (
        "whole egg: 456.9 g of water, and 31 % of 1000 g flour is 310.0 g; "
        "take less whole egg, or 473.9 g more flour."
    )


def test_ingredients_that_just_reach_the_target_leave_nothing_to_pour() -> None:
    assert water_to_pour_g(1000, 31, [Addition("stock", 310, 100)]) == 0


def test_what_the_kitchen_measured_counts_more(tmp_path: Path) -> None:
    own = tmp_path / "ingredients.csv"
    own.write_text(
        "name,water_g_per_100g,by\nSpinach_Boiled, 78.5 ,chef\nnettle pesto,62,chef\n", encoding="utf-8"
    )
    pantry = Pantry.load(own)
    assert pantry.water_pct("spinach boiled") == 78.5
    assert pantry.find("nettle pesto").source == "the kitchen's own, ingredients.csv"
    assert pantry.addition("whole egg", 100, 74.0).water_g == pytest.approx(74.0)
    assert Pantry.load(tmp_path / "none.csv").water_pct("spinach boiled") == 91.21


def test_an_unknown_ingredient_is_told_with_those_near_it() -> None:
    with pytest.raises(DoughError) as caught:
        PANTRY.water_pct("hole egg")
    assert str(caught.value) == (
        '"hole egg" is not an ingredient that is known; did you mean whole egg? '
        "Else give its water content, or add it to ingredients.csv."
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ": its first line is empty; write name,water_g_per_100g there."),
        ("name;water\n", ": its first line is name;water; write name,water_g_per_100g there."),
        (
            "name,water_g_per_100g\negg,140\n",
            " line 2: water_g_per_100g of egg = 140, allowed is a number from 0 to 100; "
            "change it, or remove the line.",
        ),
        (
            "name,water_g_per_100g\n\negg,wet\n",
            " line 3: water_g_per_100g of egg = wet, allowed is a number from 0 to 100; "
            "change it, or remove the line.",
        ),
        (
            "name,water_g_per_100g\negg\n",
            " line 2: water_g_per_100g of egg = nothing, allowed is a number from 0 to 100; "
            "change it, or remove the line.",
        ),
        (
            "name,water_g_per_100g\n,70\n",
            " line 2: no name; write one before the first comma, or remove the line.",
        ),
    ],
)
def test_a_wrong_table_is_told_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    own = tmp_path / "ingredients.csv"
    own.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        Pantry.load(own)
    assert str(caught.value) == f"{own}{said}"


def test_a_table_that_is_no_text(tmp_path: Path) -> None:
    own = tmp_path / "ingredients.csv"
    own.write_bytes(b"name,water_g_per_100g\n\xff\xfe,1\n")
    with pytest.raises(SettingsError, match=r"is not UTF-8 text \(byte 22\); save it as UTF-8\.$"):
        Pantry.load(own)


@given(
    st.floats(100, 5000),
    st.floats(20, 45),
    st.lists(st.tuples(st.floats(0, 400), st.floats(0, 100)), max_size=4),
    st.floats(5, 18),
)
def test_mass_and_water_are_kept(
    flour: float, target: float, parts: list[tuple[float, float]], moisture: float
) -> None:
    additions = [Addition(f"part {number}", *part) for number, part in enumerate(parts)]
    try:
        dough = dough_with(flour, target, additions, moisture)
    except TooWetError:
        assert sum(one.water_g for one in additions) > flour * target / 100
        return
    assert dough.pour_g >= 0
    assert dough.mass_g == pytest.approx(flour + dough.pour_g + sum(one.grams for one in additions))
    assert dough.water_g == pytest.approx(flour * target / 100)
    assert dough.moisture_pct is not None
    assert 0 < dough.moisture_pct < 100
    # Dry matter: flour's and the additions', and no other.
    dry = flour * (1 - moisture / 100) + sum(one.grams - one.water_g for one in additions)
    assert dough.mass_g * (1 - dough.moisture_pct / 100) == pytest.approx(dry)

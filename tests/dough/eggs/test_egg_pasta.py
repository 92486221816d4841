"""What egg pasta may be called, against DPR 187/2001 article 8 and 21 CFR 139.150.

Article 8: at least four hen's eggs, 200 g without shell, a kilo of semolina (read in the bill).
139.150(a): the total solids hold at least 5.5 % of solids of egg or yolk (read in a printed edition).
Water: USDA SR28, whole egg 76.15, white 87.57, yolk 52.31, semolina 12.67 %.
"""

import pytest

from assistant.dough.eggs.egg_pasta import EggDough, whole_g_for_the_us


@pytest.mark.parametrize(
    ("whole", "eggs", "enough"),
    [
        (200, 4, True),
        (199.9, 4, False),
        (200, 3, False),
        (240, 4, True),
        (200, None, True),
        (199.9, None, False),
    ],
)
def test_italy_wants_four_eggs_and_200_g_a_kilo(whole: float, eggs: int | None, enough: bool) -> None:
    assert EggDough(flour_g=1000, whole_g=whole, eggs=eggs).enough_for_italy is enough
    if eggs is not None:
        assert EggDough(flour_g=2000, whole_g=2 * whole, eggs=2 * eggs).enough_for_italy is enough


def test_yolks_and_whites_are_no_whole_eggs() -> None:
    assert not EggDough(flour_g=1000, yolk_g=300, white_g=300).enough_for_italy


def test_egg_solids_of_200_g_a_kilo_are_short_of_the_us_standard() -> None:
    """200 x 23.85 % = 47.7 g in 47.7 + 873.3 = 921.0 g (derived): 5.179 %."""
    found = EggDough(flour_g=1000, whole_g=200)
    assert found.egg_solids_pct == pytest.approx(100 * 47.7 / 921.0, abs=0.001)
    assert not found.enough_for_the_us


def test_how_much_whole_egg_is_just_enough_for_the_us() -> None:
    """873.3 x 5.5 / 94.5 = 50.827 g of solids, 213.11 g of egg (derived)."""
    need = whole_g_for_the_us(1000)
    assert need == pytest.approx(213.11, abs=0.01)
    assert EggDough(flour_g=1000, whole_g=need).enough_for_the_us
    assert not EggDough(flour_g=1000, whole_g=need - 0.1).enough_for_the_us


def test_yolk_counts_as_its_solids_and_white_alone_does_not() -> None:
    """100 x 47.69 % = 47.69 g of yolk; 873.3 g of flour: 5.178 %; 110 g: 5.666 % (derived)."""
    assert EggDough(flour_g=1000, yolk_g=100).egg_solids_pct == pytest.approx(5.178, abs=0.001)
    assert EggDough(flour_g=1000, yolk_g=110).enough_for_the_us
    assert EggDough(flour_g=1000, white_g=1000).egg_solids_pct == 0


def test_other_solids_and_a_drier_flour_leave_less() -> None:
    plain = EggDough(flour_g=1000, whole_g=220)
    assert EggDough(flour_g=1000, whole_g=220, other_solids_g=30).egg_solids_pct < plain.egg_solids_pct
    assert EggDough(flour_g=1000, whole_g=220, flour_water_pct=10).egg_solids_pct < plain.egg_solids_pct

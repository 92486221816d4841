"""Grams of egg from a count, by classes of the EU and the US, against published weights."""

import pytest

from assistant.dough.eggs.egg_sizes import SHELL_SHARE, SIZES, WHITE_SHARE, YOLK_SHARE, contents_of
from assistant.errors import DoughError


@pytest.mark.parametrize(("size", "least", "most"), [("m", 53, 63), ("l", 63, 73)])
def test_the_eus_classes(size: str, least: float, most: float) -> None:
    """(EC) 589/2008 art. 4, kept by (EU) 2023/2465: the EU's summary read; S below 53, XL from 73."""
    assert (SIZES[size].least_g, SIZES[size].most_g) == (least, most)
    assert (SIZES["s"].most_g, SIZES["xl"].least_g) == (53, 73)


@pytest.mark.parametrize(
    ("size", "ounces"),
    [("peewee", 15), ("small", 18), ("medium", 21), ("large", 24), ("extra-large", 27), ("jumbo", 30)],
)
def test_a_dozen_of_the_uss_classes_weighs_what_the_table_says(size: str, ounces: float) -> None:
    """Least weight of a dozen, USDA AMS 56.218; read in 7 Pa. Code 87.42. 1 oz is 28.3495 g."""
    assert 12 * SIZES[f"us-{size}"].counted_g == pytest.approx(ounces * 28.3495, abs=0.01)


@pytest.mark.parametrize(
    ("size", "whole"), [("small", 38), ("medium", 44), ("large", 50), ("extra-large", 56), ("jumbo", 63)]
)
def test_what_is_in_an_egg_agrees_with_the_weights_of_the_nutrient_database(size: str, whole: float) -> None:
    """SR28's weights of one raw egg without shell, from memory; within 2 g."""
    assert contents_of(1, SIZES[f"us-{size}"]).whole_g == pytest.approx(whole, abs=2)


def test_white_and_yolk_of_a_large_egg_agree_with_it_too() -> None:
    """SR28: white of a large egg 33 g, yolk 17 g, from memory; within 1 g."""
    found = contents_of(1, SIZES["us-large"])
    assert found.white_g == pytest.approx(33, abs=1)
    assert found.yolk_g == pytest.approx(17, abs=1)


def test_the_shares_are_within_those_that_were_published() -> None:
    """A poultry association, citing a book: white 57-63.4, yolk 28-30.6, shell 8.1-12.4 % (read)."""
    assert 0.57 <= WHITE_SHARE <= 0.634
    assert 0.28 <= YOLK_SHARE <= 0.306
    assert 0.081 <= SHELL_SHARE <= 0.124
    assert pytest.approx(1) == SHELL_SHARE + WHITE_SHARE + YOLK_SHARE


def test_six_large_eggs() -> None:
    """6 x 68 g, less 12 %; from 6 x 63 to 6 x 73 g (derived)."""
    found = contents_of(6, SIZES["l"])
    assert found.whole_g == pytest.approx(359.04)
    assert found.white_g + found.yolk_g == pytest.approx(found.whole_g)
    assert found.least_g == pytest.approx(332.64)
    assert found.most_g == pytest.approx(385.44)


@pytest.mark.parametrize("count", [0, -1, 2001])
def test_a_count_that_can_not_be_meant_is_refused(count: int) -> None:
    with pytest.raises(DoughError, match=r"^eggs .*: a whole number from 1 to 2000 is allowed"):
        contents_of(count, SIZES["m"])

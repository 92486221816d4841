"""Recipes: those that ship, the kitchen's own, and what is wrong with one."""

from pathlib import Path

import pytest

from assistant.config.pantry import Pantry
from assistant.config.recipes import SHIPPED, Recipes, read_recipe
from assistant.dough.recipe import RecipePlan
from assistant.errors import RecipeError

PANTRY = Pantry.load()
GOOD = 'name = "test"\nallergens = ["wheat"]\ntarget_pct = 31\n[flour]\nsemolina = 100\n'


def test_those_that_ship_can_all_be_used() -> None:
    plans = Recipes.load(PANTRY).plans
    assert sorted(plans) == ["egg", "plain", "spinach", "squid ink", "wholegrain"]
    assert {plan.recipe: plan.allergens for plan in plans.values()} == {
        "egg": ("wheat", "egg"),
        "plain": ("wheat",),
        "spinach": ("wheat",),
        "squid ink": ("wheat", "molluscs"),
        "wholegrain": ("wheat",),
    }


def test_a_plan_gives_additions_for_the_flour() -> None:
    """Source of the egg's water: USDA SR28 NDB 01123."""
    (egg,) = Recipes.load(PANTRY).find("egg").additions(1500)
    assert (egg.name, egg.grams) == ("whole egg", 300)
    assert egg.water_g == pytest.approx(228.45)


def test_the_kitchens_own_take_the_place_of_those_that_ship(tmp_path: Path) -> None:
    (tmp_path / "plain.toml").write_text(
        GOOD.replace("test", "plain").replace("31", "30.5"), encoding="utf-8"
    )
    (tmp_path / "sunday.toml").write_text(GOOD.replace("test", "Sunday_Best"), encoding="utf-8")
    recipes = Recipes.load(PANTRY, tmp_path)
    assert recipes.find("plain").target_pct == 30.5
    assert recipes.find("sunday best").recipe == "sunday best"


def test_two_of_one_name_are_refused(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(GOOD.replace("test", "egg"), encoding="utf-8")
    with pytest.raises(RecipeError) as caught:
        Recipes.load(PANTRY, tmp_path)
    assert str(caught.value) == (
        f'{tmp_path / "mine.toml"}: name = "egg" is taken by {SHIPPED / "egg.toml"}; give it another '
        "name, or the file the other's name to take its place."
    )


def test_an_unknown_recipe_is_reported_with_what_is_near() -> None:
    recipes = Recipes.load(PANTRY)
    with pytest.raises(RecipeError, match=r'^there is no recipe "spinich"; did you mean spinach\?$'):
        recipes.find("spinich")
    with pytest.raises(RecipeError, match=r'^there is no recipe "xyz"; there are egg, plain, '):
        recipes.find("xyz")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            GOOD.replace("31", "310"),
            "target_pct = 310, allowed is a number from 15 to 60 %; change it, or remove the line.",
        ),
        (
            GOOD.replace("31", '"wet"'),
            'target_pct = "wet", allowed is a number from 15 to 60 %; change it, or remove the line.',
        ),
        (
            GOOD.replace("31", "nan"),
            "target_pct = nan, allowed is a number from 15 to 60 %; change it, or remove the line.",
        ),
        (
            GOOD.replace("31", "34"),
            "low_pct = 30, target_pct = 34, high_pct = 33: low must not be above target, nor target "
            "above high; change one of them.",
        ),
        (GOOD.replace("100", "90"), "the shares of [flour] make 90, allowed is 100; change one of them."),
        (
            GOOD.replace("= 100", "= -3"),
            "[flour] semolina = -3, allowed is a number from 0 to 100 % of the flour; change it.",
        ),
        (
            GOOD.replace('["wheat"]', '["whaet"]'),
            'allergens has "whaet"; did you mean wheat? Write that, or remove it.',
        ),
        (
            GOOD.replace('["wheat"]', '"wheat"'),
            'allergens = "wheat", allowed is a list, as ["wheat", "egg"]; change it.',
        ),
        (
            GOOD.replace("target_pct", "target"),
            'there is no key "target"; did you mean target_pct? Write that, or remove it.',
        ),
        (
            'name = "x"\nallergens = []\n',
            "flour is missing; write a section [flour] with a line such as semolina = 100.",
        ),
        (
            GOOD + '[wet]\n"dragon milk" = 5\n',
            '[wet] "dragon milk" is not an ingredient that is known; did you mean milk? Else give its water '
            "content, or add it to ingredients.csv.",
        ),
        (
            GOOD + '[wet]\n"whole egg" = 60\n',
            "[wet] brings 45.7 g of water per 100 g of flour, and target_pct = 31 leaves none to pour; "
            "use less of it, or aim higher.",
        ),
        (
            GOOD + '[wet]\n"whole egg" = 600\n',
            '[wet] "whole egg" = 600, allowed is a number from 0 to 200 g per 100 g of flour; change it.',
        ),
        # A key that stands below a section belongs to it.
        (GOOD + "rest_s = 1\n", "the shares of [flour] make 101, allowed is 100; change one of them."),
        ("name = ", "is not TOML: Invalid value (at end of document); mend it, or move it away."),
    ],
)
def test_a_wrong_recipe_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(RecipeError) as caught:
        Recipes.load(PANTRY, tmp_path)
    assert str(caught.value) in (f"{file}: {said}", f"{file} {said}")


def test_a_recipe_that_is_not_text(tmp_path: Path) -> None:
    file = tmp_path / "wrong.toml"
    file.write_bytes(b"\xff")
    with pytest.raises(RecipeError, match=r"is not UTF-8 text \(byte 0\); save it as UTF-8\.$"):
        read_recipe(file)
    with pytest.raises(
        RecipeError, match=r"can't be read \(No such file or directory\); make it a readable file"
    ):
        read_recipe(tmp_path / "none.toml")


def recipe_of(tmp_path: Path, text: str) -> RecipePlan:
    (tmp_path / "own.toml").write_text(f'name = "own"\n{text}', encoding="utf-8")
    return Recipes.load(PANTRY, tmp_path).find("own")


@pytest.mark.parametrize(
    ("flours", "marks"),
    [
        ('"rice flour" = 100', (37.5, 42.0, 46.5)),
        ('"chickpea flour" = 100', (25.5, 31.5, 37.5)),
        ("semolina = 100", None),
        ('"rice flour" = 90\nsemolina = 10', None),
        # Oats are gluten by Annex II; of a name that is not known nobody can say that it has none.
        ('"oat flour" = 100', None),
        ('"rice flour" = 50\n"my own mix" = 50', None),
    ],
)
def test_a_dough_without_gluten_has_marks_of_its_own(
    tmp_path: Path, flours: str, marks: tuple[float, float, float] | None
) -> None:
    """Sources of the marks are in `dough.flour.gluten_free`."""
    plan = recipe_of(tmp_path, f"[flour]\n{flours}\n")
    assert plan.gluten_free is (marks is not None)
    assert (plan.low_pct, plan.target_pct, plan.high_pct) == (marks or (30.0, 31.0, 33.0))


def test_marks_that_are_written_win(tmp_path: Path) -> None:
    plan = recipe_of(tmp_path, 'target_pct = 44\n[flour]\n"rice flour" = 100\n')
    assert (plan.low_pct, plan.target_pct, plan.high_pct) == (37.5, 44.0, 46.5)


def test_what_the_allergens_leave_open_the_recipe_says(tmp_path: Path) -> None:
    # Oats may be sold as gluten-free in the EU: Regulation (EU) 828/2014, from memory.
    for flour in ("oat flour", "my own mix"):
        assert recipe_of(tmp_path, f'gluten_free = true\n[flour]\n"{flour}" = 100\n').gluten_free
    assert not recipe_of(tmp_path, 'gluten_free = false\n[flour]\n"rice flour" = 100\n').gluten_free


def test_a_dough_with_wheat_can_not_be_called_free_of_gluten(tmp_path: Path) -> None:
    with pytest.raises(RecipeError) as caught:
        recipe_of(tmp_path, 'gluten_free = true\n[flour]\n"rice flour" = 90\nsemolina = 10\n')
    assert str(caught.value).endswith(
        "gluten_free = true, and the recipe has wheat; remove the line, or use another flour."
    )


def test_an_addition_with_gluten_counts(tmp_path: Path) -> None:
    plan = recipe_of(tmp_path, '[flour]\n"rice flour" = 100\n[dry]\n"wheat bran" = 5\n')
    assert not plan.gluten_free

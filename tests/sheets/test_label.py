"""The label of a tray, and the two lists of allergens with their traps."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from assistant.batch.record.clocks.food_rules import FoodRules
from assistant.dough.ingredients import Addition
from assistant.sheets.allergens import allergens_of
from assistant.sheets.label import label_text
from assistant.sheets.sheet import Moment, Sheet
from tests.sheets.words import english

APRIL = datetime(2026, 4, 1, 9, 30, tzinfo=UTC).timestamp()
SHEET = Sheet(
    number=4,
    opened=Moment(0.0, APRIL, wall_trusted=True),
    ended=None,
    outcome="open",
    lot="471",
    target_pct=31,
    low_pct=30,
    high_pct=33,
    flour_g=1500,
    water_g=465,
    scrap_g=0,
    crumb=None,
    extruded_early=None,
    dies=("penne", "rigatoni"),
    trays=2,
    portions=0,
    lines=(),
)


def rows(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    name = ""
    for line in text.splitlines():
        name = line[:8].strip() or name
        found[name] = f"{found.get(name, '')} {line[8:]}".strip()
    return found


def test_a_label_has_batch_lot_made_use_by_and_allergens() -> None:
    # Day made is day 1, seven days: 1 April, use by 7 April (US Food Code 3-501.17, a health district's
    # example).
    found = rows(label_text(SHEET, english(), tray=2, zone=UTC))
    assert found["pasta"] == "rigatoni, raw"
    assert found["batch"] == "4, tray 2"
    assert found["lot"] == "471"
    assert found["made"] == "2026-04-01"
    assert found["use by"] == "2026-04-07, made on day 1 of 7"
    assert found["EU, UK"] == "contains gluten (wheat)"
    assert found["US"] == "contains wheat"
    assert "5 C (41 F)" in found["keep"]
    assert "local code" in found["check"]


@pytest.mark.parametrize(("days", "use_by"), [(1, "2026-04-01"), (3, "2026-04-03"), (7, "2026-04-07")])
def test_the_kitchens_shorter_time_counts(days: int, use_by: str) -> None:
    assert rows(label_text(SHEET, english(), days=days, zone=UTC))["use by"].startswith(use_by)


def test_without_a_set_clock_no_date_is_made_up() -> None:
    sheet = replace(SHEET, opened=Moment(0.0, APRIL, wall_trusted=False))
    text = label_text(sheet, english(), zone=UTC)
    assert "2026" not in text
    assert "clock not set" in text


def test_squid_ink_is_of_molluscs_in_the_eu_and_none_of_the_nine_of_the_us() -> None:
    # Reg. (EU) 1169/2011 Annex II has molluscs; the FASTER Act's nine have not (derived from both lists).
    found = allergens_of(["wheat", "molluscs"], ["cuttlefish ink"], english())
    assert found.eu == ("gluten (wheat)", "molluscs")
    assert found.us == ("wheat",)
    assert [note.split(":")[0] for note in found.notes] == ["Squid and cuttlefish ink is of molluscs"]


@pytest.mark.parametrize(
    ("ingredient", "eu", "us"),
    [
        ("whole egg", "eggs", "egg"),
        ("egg yolk", "eggs", "egg"),
        ("fish roe", "fish", "fish"),
        ("milk", "milk", "milk"),
        ("squid ink", "molluscs", None),
    ],
)
def test_what_an_ingredient_plainly_is_is_added_where_the_recipe_forgot_it(
    ingredient: str, eu: str, us: str | None
) -> None:
    found = allergens_of([], [ingredient], english())
    assert found.eu == ("gluten (wheat)", eu)
    assert found.us == (("wheat", us) if us else ("wheat",))


def test_rye_is_gluten_in_the_eu_and_not_among_the_nine() -> None:
    found = allergens_of(["rye"], [], english())
    assert (found.eu, found.us) == (("gluten (wheat, rye)",), ("wheat",))


@pytest.mark.parametrize(
    ("ingredient", "word"), [("sea urchin", "neither"), ("kimchi", "shrimp"), ("fish roe", "both")]
)
def test_traps_have_a_note(ingredient: str, word: str) -> None:
    assert any(word in note for note in allergens_of([], [ingredient], english()).notes)


def test_the_lists_have_fourteen_and_nine() -> None:
    from assistant.config.recipes import ALLERGENS

    everything = allergens_of(ALLERGENS, [], english())
    assert (len(everything.eu), len(everything.us)) == (14, 9)


def test_an_egg_dough_says_so_on_its_label() -> None:
    sheet = replace(SHEET, recipe="egg", allergens=("wheat",), additions=(Addition("whole egg", 300, 76.15),))
    found = rows(label_text(sheet, english(), zone=UTC))
    assert found["pasta"] == "rigatoni, egg, raw"
    assert found["EU, UK"] == "contains gluten (wheat), eggs"


def test_cold_by_is_four_hours_from_the_first_water_by_the_rules_of_the_batch() -> None:
    """US Food Code 3-501.14(B): 5 C (41 F) within four hours. DPR 187/2001 art. 9 c. 4: 4 C, loose."""
    wet = replace(SHEET, wet=Moment(60.0, APRIL + 60.0, wall_trusted=True))
    found = rows(label_text(wet, english(), zone=UTC))
    assert found["cold"] == "by 2026-04-01 13:31, at 5 C (41 F) or below"
    assert found["keep"].startswith("at 5 C (41 F) or below, there within 4 hours of its first water")
    italy = replace(wet, food=FoodRules("italy", 4.0, cold_s=2 * 3600.0))
    found = rows(label_text(italy, english(), zone=UTC))
    # 4 C is 39.2 F: rounded down, for it is not to be passed.
    assert found["cold"] == "by 2026-04-01 11:31, at 4 C (39 F) or below"
    assert "within 2 hours" in found["keep"]


@pytest.mark.parametrize("certain", [True, False])
def test_cold_by_is_left_to_be_written_where_it_is_not_known(certain: bool) -> None:
    wet = None if certain else Moment(60.0, APRIL + 60.0, wall_trusted=True)
    found = rows(label_text(replace(SHEET, wet=wet, certain=certain), english(), zone=UTC))
    assert found["cold"] == "by ________, at 5 C (41 F) or below: write it"

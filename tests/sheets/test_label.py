"""The label of a tray: its figures, its times, and allergens by the two lists."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.batch.record.clocks.food_rules import FoodRules
from assistant.config.allergens.known import KnownAllergens
from assistant.dough.ingredients import Addition
from assistant.sheets.allergens import KitchenAllergens
from assistant.sheets.label import Tray, label_of, label_text
from assistant.sheets.sheet import Moment, Phrase, Sheet, SheetLine
from tests.sheets.words import english

APRIL = datetime(2026, 4, 1, 9, 30, tzinfo=UTC).timestamp()
KITCHEN = KitchenAllergens()


def line(key: str, since_s: float, *notes: str, **values: float) -> SheetLine:
    moment = Moment(since_s, APRIL + since_s, wall_trusted=True)
    return SheetLine(moment, Phrase(key, values), notes=tuple(map(Phrase, notes)))


SHEET = Sheet(
    number=4,
    opened=Moment(0.0, APRIL, wall_trusted=True),
    ended=Moment(3600.0, APRIL + 3600, wall_trusted=True),
    outcome="closed",
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
    trays=3,
    portions=18,
    lines=(line("lines.opening", 0), line("lines.water", 600), line("lines.water", 900)),
    flours=("semolina",),
    wet=Moment(600.0, APRIL + 600, wall_trusted=True),
)


def label(sheet: Sheet = SHEET, kitchen: KitchenAllergens = KITCHEN, **options: object) -> str:
    return label_text(label_of(sheet, english(), kitchen.of(sheet), zone=UTC, **options))  # type: ignore[arg-type]


def rows(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    name = ""
    for row in text.splitlines()[2:]:
        name = row[:9].strip() or name
        found[name] = f"{found.get(name, '')} {row[9:].strip()}".strip()
    return found


def test_a_label_has_what_a_tray_needs_and_nothing_else() -> None:
    # Day made is day 1, seven days: 1 April, use by 7 April (US Food Code 3-501.17, a health district's
    # example).
    # 3-501.14(B): at 5 C within four hours, from the first water at 09:40.
    text = label(tray=Tray(1))
    assert text.splitlines()[:2] == ["rigatoni, raw", "tray 1 of 3, batch 4, lot 471"]
    assert rows(text) == {
        "weight": "about 660 g",  # 1500 + 465 g in three
        "portions": "about 6",  # 18 in three
        "made at": "2026-04-01 09:40",
        "cold by": "2026-04-01 13:40, 5 C (41 F) or below",
        "use by": "2026-04-07",
        "EU, UK": "contains gluten (wheat)",
        "US": "contains wheat",
    }


def test_the_label_of_a_whole_batch() -> None:
    text = label()
    assert text.splitlines()[1] == "batch 4, lot 471"
    assert (rows(text)["weight"], rows(text)["portions"]) == ("1965 g", "18")
    assert label(replace(SHEET, lot=None)).splitlines()[1] == "batch 4"


def test_what_was_weighed_and_counted_is_printed_as_it_is() -> None:
    found = rows(label(tray=Tray(2, weight_g=642, portions=6)))
    assert (found["weight"], found["portions"]) == ("642 g", "6")


def test_of_an_open_batch_with_several_trays_the_share_is_not_known() -> None:
    found = rows(label(replace(SHEET, outcome="open"), tray=Tray(1)))
    assert (found["weight"], found["portions"]) == ("________", "________")
    assert "tray 1, batch 4" in label(replace(SHEET, outcome="open"), tray=Tray(1))
    first = rows(label(replace(SHEET, outcome="open", trays=1), tray=Tray(1)))
    assert first["weight"] == "________", "more trays may come"
    alone = rows(label(replace(SHEET, trays=1, portions=0), tray=Tray(1)))
    assert (alone["weight"], alone["portions"]) == ("1965 g", "________")


@pytest.mark.parametrize(("days", "use_by"), [(1, "2026-04-01"), (3, "2026-04-03"), (7, "2026-04-07")])
def test_the_kitchens_shorter_time_counts(days: int, use_by: str) -> None:
    assert rows(label(days=days))["use by"] == use_by


def test_without_a_set_clock_no_time_is_made_up() -> None:
    text = label(replace(SHEET, wet=Moment(600.0, APRIL, wall_trusted=False)))
    assert "2026" not in text
    assert "clock not set" in text


def test_the_rules_of_the_kitchen_say_how_cold_and_how_soon() -> None:
    """DPR 187/2001, art. 9 c. 4: 4 C; the hours are those of the kitchen's own plan."""
    italy = FoodRules(authority="italy", celsius=4.0, cold_s=2 * 3600)
    assert rows(label(replace(SHEET, food=italy)))["cold by"] == "2026-04-01 11:40, 4 C (39 F) or below"


def test_flour_that_was_never_wet_has_no_time_to_be_cold_by() -> None:
    found = rows(label(replace(SHEET, wet=None)))
    assert found["cold by"] == "________, 5 C (41 F) or below"
    assert found["made at"] == "2026-04-01 09:30"


# ---- allergens


def declared(
    *names: str, recipe: tuple[str, ...] = (), kitchen: KitchenAllergens = KITCHEN
) -> tuple[str, str]:
    """What a batch of these flours and additions declares to the EU and the US."""
    additions = tuple(Addition(name, 10, 50) for name in names[1:])
    found = kitchen.of(replace(SHEET, flours=names[:1], additions=additions, allergens=recipe))
    assert found.unknown == ()
    eu, us = (", ".join(found.declared(region, english())) for region in ("eu", "us"))
    return eu, us


@pytest.mark.parametrize(
    ("names", "eu", "us"),
    [
        # Wheat and ink: gluten and molluscs in the EU, wheat in the US (derived from both lists).
        (("semolina", "squid ink"), "gluten (wheat), molluscs", "wheat"),
        (("semolina", "cuttlefish ink"), "gluten (wheat), molluscs", "wheat"),
        (("semolina", "squid raw"), "gluten (wheat), molluscs", "wheat"),
        (("semolina", "cuttlefish raw"), "gluten (wheat), molluscs", "wheat"),
        # Sea urchin is on neither list.
        (("semolina", "sea urchin roe"), "gluten (wheat)", "wheat"),
        (("semolina", "eggs"), "gluten (wheat), eggs", "wheat, egg"),
        (("semolina", "yolks"), "gluten (wheat), eggs", "wheat, egg"),
        (("semolina", "ricotta"), "gluten (wheat), milk", "wheat, milk"),
        (("semolina", "almond milk"), "gluten (wheat), nuts (almond)", "wheat, tree nuts (almond)"),
        (("semolina", "pine nuts"), "gluten (wheat)", "wheat, tree nuts (pine nut)"),
        (("semolina", "white wine"), "gluten (wheat), sulphites", "wheat"),
        (("semolina", "salmon roe"), "gluten (wheat), fish (salmon)", "wheat, fish (salmon)"),
        (
            ("semolina", "shrimp"),
            "gluten (wheat), crustaceans (shrimp)",
            "wheat, crustacean shellfish (shrimp)",
        ),
        (("rye flour",), "gluten (rye)", ""),
        (("lupin flour",), "lupin", ""),
        (("spelt flour",), "gluten (wheat)", "wheat"),
        # Rice has none, and nothing is forced in.
        (("rice flour",), "", ""),
        (("rice flour", "egg yolk"), "eggs", "egg"),
    ],
)
def test_a_batch_declares_what_went_in(names: tuple[str, ...], eu: str, us: str) -> None:
    assert declared(*names) == (eu, us)


def test_a_label_of_rice_contains_none() -> None:
    found = rows(label(replace(SHEET, flours=("rice flour",))))
    # It is no claim: what the machine held before is not on it.
    assert {found["EU, UK"], found["US"]} == {"none among the ingredients; traces not checked"}


def test_one_list_alone_is_printed_where_the_kitchen_wants_one() -> None:
    assert "US" not in rows(label(regions=["eu"]))
    assert "EU, UK" not in rows(label(regions=["us"]))


def test_what_nobody_told_of_may_be_in_all_the_same() -> None:
    found = KITCHEN.of(replace(SHEET, to_come=(Addition("whole egg", 300, 76.15),)))
    assert found.declared("eu", english()) == ("gluten (wheat)", "eggs")


def test_the_flour_is_that_of_recipe_and_lot_and_else_the_kitchens_plain_one() -> None:
    plain = replace(SHEET, flours=())
    assert KITCHEN.of(plain).declared("us", english()) == ("wheat",)
    assert KitchenAllergens(plain_flour="rice flour").of(plain).declared("us", english()) == ()
    rye = KitchenAllergens(lot_flours={"471": "rye flour"})
    assert rye.of(plain).declared("eu", english()) == ("gluten (rye)",)
    assert rye.of(SHEET).declared("eu", english()) == ("gluten (wheat, rye)",)
    unnamed = KitchenAllergens(lot_flours={"471": "flour"})
    assert unnamed.of(SHEET).unknown == (), "a lot without a name of its flour"


def test_names_that_are_not_known_are_told_and_left_out() -> None:
    found = KITCHEN.of(
        replace(SHEET, additions=(Addition("kimchi", 10, 94), Addition("pesto rosso", 10, 60)))
    )
    assert found.unknown == ("kimchi", "pesto rosso")
    assert found.declared("us", english()) == ("wheat",)


def test_a_kind_that_is_wanted_is_lacking_until_somebody_names_it(tmp_path: Path) -> None:
    sheet = replace(SHEET, additions=(Addition("fish roe", 10, 68),))
    found = KITCHEN.of(sheet)
    assert found.lacking(["us"]) == [("fish roe", "fish")]
    assert found.lacking(["eu"]) == [], "Annex II wants no species"
    own = tmp_path / "allergens.toml"
    own.write_text('"fish roe" = ["fish:lumpfish"]\n', encoding="utf-8")
    known = KitchenAllergens(KnownAllergens.load(own)).of(sheet)
    assert known.lacking(["us"]) == []
    assert known.declared("us", english()) == ("wheat", "fish (lumpfish)")


def test_what_a_recipe_named_when_the_batch_was_made_stays_declared() -> None:
    assert declared("semolina", recipe=("wheat", "celery", "fish")) == (
        "gluten (wheat), fish, celery",
        "wheat, fish",
    )
    # The record has no kinds: those of its file today are taken.
    kitchen = KitchenAllergens(recipes={"sea": ("fish:cod", "mustard")})
    found = kitchen.of(replace(SHEET, recipe="sea", allergens=("fish",)))
    assert found.declared("us", english()) == ("wheat", "fish (cod)")
    assert found.by_recipe == ("fish:cod",), "what the file names since is not in this batch"

"""Allergens of flours and ingredients against the two published lists, name by name.

The lists: Regulation (EU) 1169/2011, Annex II, its fourteen by number (V: farrp.unl.edu/ref-sit-eu), and the
nine of the US with the FASTER Act (V: FDA's release). FDA's twelve tree nuts of January 2025: summaries of
two universities and an allergy charity (V2). What an ingredient is made of: common knowledge, no source.
"""

from pathlib import Path

import pytest

from assistant.config.allergens import lists
from assistant.config.allergens.known import SHIPPED, KnownAllergens
from assistant.config.allergens.own_file import keep_allergens
from assistant.config.pantry import Pantry
from assistant.config.recipes import Recipes
from assistant.config.toml_file import read_toml
from assistant.errors import RecipeError, SettingsError

KNOWN = KnownAllergens.load()
ALLOWED = 'allowed is a list of allergens, as ["milk", "nuts:almond"], or [] for none; change it.'

ANNEX_II = {
    "gluten": 1, "crustaceans": 2, "egg": 3, "fish": 4, "peanuts": 5, "soy": 6, "milk": 7, "nuts": 8,
    "celery": 9, "mustard": 10, "sesame": 11, "sulphites": 12, "lupin": 13, "molluscs": 14,
}  # fmt: skip
NINE = ("milk", "egg", "fish", "crustaceans", "nuts", "peanuts", "wheat", "soy", "sesame")
ANNEX_II_NUTS = "almond hazelnut walnut cashew pecan brazil-nut pistachio macadamia"
FDA_NUTS = (
    "almond black-walnut brazil-nut california-walnut cashew hazelnut heartnut macadamia pecan pine-nut "
    "pistachio walnut"
)

# Numbers of Annex II with the kinds that it names; the US's own; the names.
TABLE: list[tuple[dict[int, str], dict[str, str], str]] = [
    (
        {1: "wheat"},
        {"wheat": ""},
        "semolina, semolina rimacinata, durum semolina, durum wheat semolina, durum flour, wholegrain durum, "
        "whole durum, farina, soft wheat, soft wheat flour, wheat flour, white flour, plain flour, "
        "bread flour, strong flour, "
        "all-purpose flour, 00 flour, 0 flour, wholemeal flour, whole wheat flour, wheat bran, wheat germ, "
        "wheat gluten, spelt, spelt flour, "
        "khorasan flour, emmer flour, einkorn flour, semola, semola rimacinata, "
        "semola di grano duro, semola integrale, farina 00, farina 0, farina di grano tenero, "
        "farina integrale, farina di farro",
    ),
    ({1: "wheat rye"}, {"wheat": ""}, "triticale flour"),
    ({1: "rye"}, {}, "rye flour, rye, farina di segale"),
    ({1: "barley"}, {}, "barley flour, barley, farina di orzo"),
    ({1: "oats"}, {}, "oat flour, oats, farina di avena, oat milk"),
    ({13: ""}, {}, "lupin flour, lupin, farina di lupini"),
    ({6: ""}, {"soy": ""}, "soy flour, farina di soia, soy milk, tofu"),
    ({8: "almond"}, {"nuts": "almond"}, "almond flour, farina di mandorle, almond milk, almonds"),
    ({8: "hazelnut"}, {"nuts": "hazelnut"}, "hazelnut flour, farina di nocciole, hazelnut milk, hazelnuts"),
    ({8: "walnut"}, {"nuts": "walnut"}, "walnuts"),
    ({8: "cashew"}, {"nuts": "cashew"}, "cashews, cashew milk"),
    ({8: "pecan"}, {"nuts": "pecan"}, "pecans"),
    ({8: "pistachio"}, {"nuts": "pistachio"}, "pistachios"),
    ({}, {"nuts": "pine nut"}, "pine nuts"),
    ({5: ""}, {"peanuts": ""}, "peanuts, peanut butter"),
    ({11: ""}, {"sesame": ""}, "sesame flour, sesame seeds, tahini"),
    (
        {3: ""},
        {"egg": ""},
        "egg, eggs, whole egg, whole eggs, whole egg pasteurized, egg yolk, egg yolks, yolk, yolks, "
        "egg yolk pasteurized, egg white, egg whites, egg white pasteurized, duck egg, quail egg, uovo, "
        "uova, uova intere, tuorlo, tuorli, albume, albumi",
    ),
    (
        {7: ""},
        {"milk": ""},
        "milk, whole milk, milk reduced fat, skimmed milk, milk powder, goat milk, sheep milk, buttermilk, "
        "cream, butter, yoghurt, yogurt, ricotta, mozzarella, parmesan, pecorino, mascarpone, whey, latte, "
        "panna, burro",
    ),
    (
        {14: ""},
        {},
        "cuttlefish ink, squid ink, cuttlefish raw, cuttlefish, squid raw, squid, octopus, clams, mussels, "
        "nero di seppia",
    ),
    ({4: ""}, {"fish": ""}, "fish roe, caviar, bottarga"),
    ({4: "salmon"}, {"fish": "salmon"}, "salmon, salmon roe"),
    ({4: "anchovy"}, {"fish": "anchovy"}, "anchovy, anchovies"),
    ({4: "tuna"}, {"fish": "tuna"}, "tuna"),
    ({4: "cod"}, {"fish": "cod"}, "cod"),
    ({2: "shrimp"}, {"crustaceans": "shrimp"}, "shrimp"),
    ({2: "prawn"}, {"crustaceans": "prawn"}, "prawns"),
    ({2: "crab"}, {"crustaceans": "crab"}, "crab"),
    ({2: "lobster"}, {"crustaceans": "lobster"}, "lobster"),
    ({12: ""}, {}, "wine, red wine, white wine, vino, vino rosso, vino bianco"),
    ({9: ""}, {}, "celery, celeriac"),
    ({10: ""}, {}, "mustard"),
    (
        {},
        {},
        "rice flour, brown rice flour, corn flour, maize flour, corn starch, potato starch, tapioca starch, "
        "buckwheat flour, chickpea flour, lentil flour, pea flour, chestnut flour, millet flour, "
        "sorghum flour, teff flour, quinoa flour, amaranth flour, farina di riso, farina di mais, "
        "farina di grano saraceno, farina di ceci, farina di lenticchie, farina di castagne, rice milk, "
        "coconut milk, sea urchin roe, beet boiled, beet raw, carrot juice, chestnut dried, cocoa, "
        "nettles blanched, olive oil, pumpkin boiled, pumpkin canned, pumpkin raw, saffron, "
        "spinach boiled, spinach canned, spinach frozen, spinach frozen cooked, spinach raw, tomato paste, "
        "tomato puree, tomato raw, salt, sale, sugar, water, acqua, pepper, turmeric, parsley, basil, "
        "garlic, spinaci",
    ),
]
ROWS = [(name, eu, us) for eu, us, names in TABLE for name in names.split(", ")]


@pytest.mark.parametrize(("name", "eu", "us"), ROWS, ids=[name for name, _, _ in ROWS])
def test_a_name_stands_on_both_lists_as_they_say(name: str, eu: dict[int, str], us: dict[str, str]) -> None:
    words = KNOWN.of(name)
    assert words is not None
    found = lists.by_list(words, "eu")
    assert {ANNEX_II[one]: " ".join(kinds) for one, kinds in found.items()} == eu
    assert {one: " ".join(kinds) for one, kinds in lists.by_list(words, "us").items()} == us


def test_no_name_ships_that_the_table_here_does_not_have() -> None:
    assert sorted(KNOWN.words) == sorted(name for name, _, _ in ROWS)


def test_every_ingredient_of_the_pantry_is_known_or_its_packet_must_be_read() -> None:
    to_read = {row.name for row in Pantry.load() if KNOWN.of(row.name) is None}
    assert to_read == {"kimchi", "tomato sauce"}
    assert to_read <= set(KNOWN.packet)
    assert not set(KNOWN.packet) & set(KNOWN.words), "a name is in one place"
    assert set(KNOWN.notes) <= {*KNOWN.words, *KNOWN.packet}


def test_the_lists_have_fourteen_and_nine() -> None:
    everything = [*lists.ALLERGENS, *(f"nuts:{kind}" for kind in lists.NUTS_US)]
    assert {ANNEX_II[one] for one in lists.by_list(everything, "eu")} == set(range(1, 15))
    assert set(lists.by_list(everything, "us")) == set(NINE)
    assert {kind.replace(" ", "-") for kind in lists.NUTS_EU} == set(ANNEX_II_NUTS.split())
    assert {kind.replace(" ", "-") for kind in lists.NUTS_US} == set(FDA_NUTS.split())


@pytest.mark.parametrize(
    "name", ["fish finger", "buttercup", "inkcap", "eggplant", "roe deer", "milk thistle"]
)
def test_nothing_is_guessed_from_a_part_of_a_name(name: str) -> None:
    assert KNOWN.of(name) is None


def test_the_kind_is_wanted_where_a_list_wants_it() -> None:
    # FALCPA wants the species of fish and crustaceans and the kind of nut; Annex II the kind of nut.
    words = ("fish", "crustaceans", "nuts", "egg")
    assert lists.without_kind(words, ["us"]) == ("nuts", "fish", "crustaceans")
    assert lists.without_kind(words, ["eu"]) == ("nuts",)
    assert lists.without_kind(("fish", "fish:cod"), ["eu", "us"]) == ()


# ---- the kitchen's own


def own(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "allergens.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_what_the_kitchen_says_counts_and_may_be_written_in_any_way(tmp_path: Path) -> None:
    file = own(tmp_path, '"Nettle_Pesto" = ["Milk", "nuts: Pine  Nut"]\n"fish roe" = ["fish:lumpfish"]\n')
    known = KnownAllergens.load(file)
    assert known.of("nettle pesto") == ("milk", "nuts:pine nut")
    assert known.of("fish roe") == ("fish:lumpfish",)
    assert known.own == {"nettle pesto", "fish roe"}
    assert KnownAllergens.load(own(tmp_path, '"white wine" = []\n')).of("white wine") == ()
    assert KnownAllergens.load(tmp_path / "none.toml") == KnownAllergens.load()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pesto = 3\n", f": pesto = 3, {ALLOWED}"),
        ("pesto = [3]\n", f": pesto has 3, {ALLOWED}"),
        ('pesto = ["mlik"]\n', ': pesto has "mlik"; did you mean milk? Write that, or remove it.'),
        ('pesto = ["almond"]\n', ': pesto has "almond"; write "nuts:almond" instead.'),
        ('pesto = ["milk:cow"]\n', ': pesto has "milk:cow", and milk has no kinds; write "milk" instead.'),
        (
            'pesto = ["nuts:almnd"]\n',
            ': pesto has "nuts:almnd", which is no nut of either list; did you mean almond? Write that, or '
            "remove it.",
        ),
        (
            'roe = ["fish:1"]\n',
            ': roe has "fish:1", allowed is one kind in letters, as "fish:cod"; change it.',
        ),
        ("roe = []\nRoe = []\n", ": Roe is there twice; remove one of the two."),
        (
            '"whole egg" = []\n',
            ': "whole egg" is egg by its name, and its allergens lack that; add it, or give what goes in '
            "another name.",
        ),
        ("pesto = \n", " is not TOML: Invalid value (at line 1, column 9); mend it, or move it away."),
    ],
)
def test_a_wrong_file_is_one_clear_line(tmp_path: Path, text: str, said: str) -> None:
    file = own(tmp_path, text)
    with pytest.raises(SettingsError) as caught:
        KnownAllergens.load(file)
    assert str(caught.value) == f"{file}{said}"


def test_a_row_is_written_and_taken_out_and_all_else_stays(tmp_path: Path) -> None:
    file = own(tmp_path, '# ours\n"Nettle_Pesto" = []  # to check\nstock = ["celery"]\n')
    keep_allergens(file, "nettle pesto", ["milk"])
    keep_allergens(file, "new", [])
    keep_allergens(file, "stock", None)
    assert file.read_text(encoding="utf-8").splitlines()[:2] == [
        "# ours",
        '"Nettle_Pesto" = ["milk"]  # to check',
    ]
    known = KnownAllergens.load(file)
    assert (known.of("nettle pesto"), known.of("new"), known.of("stock")) == (("milk",), (), None)


def test_a_file_is_made_where_there_is_none(tmp_path: Path) -> None:
    keep_allergens(tmp_path / "deep" / "allergens.toml", "pesto", ["milk", "nuts:pine nut"])
    assert KnownAllergens.load(tmp_path / "deep" / "allergens.toml").of("pesto") == ("milk", "nuts:pine nut")


def test_a_recipe_carries_what_its_flours_and_additions_have(tmp_path: Path) -> None:
    (tmp_path / "ingredients.csv").write_text("name,water_g_per_100g\nnettle pesto,60\n", encoding="utf-8")
    own(tmp_path, '"nettle pesto" = ["milk", "nuts:pine nut"]\n')
    folder = tmp_path / "recipes"
    folder.mkdir()
    (folder / "a.toml").write_text(
        'name = "green rice"\nallergens = ["Celery", "fish:cod"]\n[flour]\n"rice flour" = 100\n'
        '[wet]\n"nettle pesto" = 3\n',
        encoding="utf-8",
    )
    recipes = Recipes.load(Pantry.load(tmp_path / "ingredients.csv"), folder)
    assert recipes.find("green rice").allergens == ("celery", "fish", "milk", "nuts")
    assert recipes.declared["green rice"] == ("celery", "fish:cod")


def test_a_recipe_without_allergens_of_its_own_need_not_say_so(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text('name = "rice"\n[flour]\n"rice flour" = 100\n', encoding="utf-8")
    assert Recipes.load(Pantry.load(), tmp_path).find("rice").allergens == ()
    (tmp_path / "a.toml").write_text('name = "x"\nallergens = ["pine nut"]\n[flour]\nsemolina = 100\n')
    with pytest.raises(RecipeError, match=r'allergens has "pine nut"; write "nuts:pine nut" instead\.$'):
        Recipes.load(Pantry.load(), tmp_path)


def test_what_ships_is_written_by_the_rules_it_is_read_by() -> None:
    shipped = read_toml(SHIPPED)
    assert set(shipped) == {"flours", "ingredients", "packet", "notes"}
    assert not set(shipped["flours"]) & set(shipped["ingredients"])

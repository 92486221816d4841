"""`crumbcall dough`: the calculator's answers as text and JSON, and one line for wrong input."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from assistant.cli import crumbcall
from assistant.errors import DoughError, RecipeError


def run(home: Path, *arguments: str) -> str:
    result = CliRunner().invoke(
        crumbcall, ["--home", str(home), "dough", *arguments], standalone_mode=False, catch_exceptions=False
    )
    return result.output.strip()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            "hydration 1500 465 --moisture 14",
            "465.0 g water in 1500 g flour: 31.00 % hydration, 34.35 % moisture",
        ),
        ("hydration 1500", "465.0 g water in 1500 g flour: 31.00 % hydration."),
        ("moisture 31 14 --to 12.67", "The same dough on flour of 12.67 %: 33.03 % hydration."),
        (
            "rescue 1000 345 --target 31",
            "113 g of flour to 31 %: 1457.9 g of dough, the hopper of 3000 g",
        ),
        ("rescue 1000 345", "46 g of flour to high, 33 %: 1390.5 g of dough"),
        ("rescue 1000 345", "113 g of flour to target, 31 %: 1457.9 g of dough"),
        (
            "rescue 1000 345 --target 31 --hopper 1400",
            "57.9 g over the hopper, or 54 g out and 109 g of flour",
        ),
        ("rescue 1000 300", "30.00 % is not above 31 %: no flour needed."),
        (
            "temperature 1000 310 --flour-temp 20 --dough-temp 28",
            "Water at 38.9 C (102 F) (no heat of mixing measured).",
        ),
        (
            "temperature 1000 310 --flour-temp 20 --dough-temp 28 --room 20",
            "The bakers' rule of three says 44.0 C, +5.1 C off",
        ),
        ("temperature 1000 310 --flour-temp 20 --dough-temp 17 --heat 15", "colder than water can be"),
        (
            "temperature 1000 310 --flour-temp 20 --dough-temp 31 --water-temp 40",
            "Mixing gave 5.88 kJ per kg",
        ),
        ("temperature 1000 310 --flour-temp 40 --dough-temp 46", "46.0 C is close to 50 C"),
        (
            "temperature 1000 310 --flour-temp 20 --dough-temp 28",
            "Out of the die at 55.7 C (132 F) at most, if 70",
        ),
        (
            "store 60",
            "60 % and 20 C: 12.6 % moisture. A lot of unknown moisture: likely 13.5 %, give or take 0.6.",
        ),
        ("store 60 --hydration 31", "31 % at 14 % moisture is 31.7 % on it, give or take 0.9"),
        (
            "temperature 1000 310 --flour-temp 20 --dough-temp 28 --die-heat 0",
            "Out of the die at 28.0 C (82 F)",
        ),
        ("ice 40000 20 10", "4002.7 g of ice at 0 C"),
        ("ice 40000 20 10 --ice-temp=-18", "3672.4 g of ice at -18 C"),
        ("drying 1000 34.351", "Dry at 750.3 g: 1000 g at 34.351 % loses 249.7 g down to 12.5 %."),
        ("drying 1000 34.351 --to 13.5", "above Italy's and the United States' limit for dried pasta."),
        ("weighing 3000 3930 5", "5 g off when it is new, 10 g in service; 0.33 points of hydration"),
        (
            "weighing 3000 3000 1",
            "class C may creep 0.735 g in half an hour, ",
        ),
        ("weighing 3000 3000 1", "In service in the United States: 3 g."),
        ("noise 92", "6.06 hours a day at 92 dBA"),
        ("noise 90", "wear hearing protection"),
        ("keeping 0.95 --ph 6", "product assessment required; keep it cold until then."),
        ("keeping 0.87 --ph 6", "the table asks for no time and temperature control (TCS)"),
        ("keeping 0.98 --moisture 31", "outside moisture and water activity of fresh pre-packed pasta"),
        ("ingredients 1000 milk=100@88", "Pour 222.0 g of water for 31 %"),
        ("ingredients --list", "76.15 %  whole egg (USDA SR28 NDB 01123: Egg, whole, raw, fresh)"),
        ("recipe egg 1500", "236.6 g water for 31 %, from 30 to 33"),
        ("recipe", "squid ink: target 31 %, allergens wheat, molluscs"),
        ("egg 6 --size L", "359 g of whole egg, without shell: 237 g of white and 122 g of yolk"),
        ("egg 6 --size L", "From 333 to 385 g within the class: weigh them."),
        ("egg 6 --size L", "The whole egg brings 273 g of water"),
        # 6 x 63 x 0.88 / 1.5 = 222 g a kilo from the lightest: enough for both (derived).
        (
            "egg 6 --size L --flour 1500",
            'Italy, "pasta all\'uovo": enough. 4 eggs, 239 g of whole egg a kilo',
        ),
        ("egg 6 --size L --flour 1500", 'US, "egg noodles": enough.'),
        # Four of size M are 187 to 222 g.
        ("egg 4 --size m --flour 1000", "Italy, \"pasta all'uovo\": by the eggs' weight: weigh them."),
        ("egg 4 --size S --flour 1000", 'Italy, "pasta all\'uovo": too little. 4 eggs, 169 g'),
        ("egg 3 --size XL --flour 1000", 'Italy, "pasta all\'uovo": too little. 3 eggs, 206 g'),
        ("egg 5 --size us-large --flour 1000", "in 5 eggs of size US large"),
        ("egg --recipe egg", 'Italy, "pasta all\'uovo": enough. 200 g of whole egg a kilo'),
        ("egg --recipe egg", 'US, "egg noodles": too little. 5.18 % of the solids are egg'),
        ("egg --recipe wholegrain", 'Italy, "pasta all\'uovo": no, not of semolina alone.'),
        ("egg --recipe egg", "Information, no legal advice; other countries have rules of their own."),
        ("scale 2250 flour=1500 water=465", "697.5 g water"),
        (
            "blend 600@13.2 400@14.6 --hydration 31",
            "1000 g of flour at 13.76 % moisture. 31 % at 14 % moisture is 31.37 %",
        ),
        (
            "yield 2000 --loss 3 --portion 110",
            "2620.0 g of dough, 2541.4 g after 3 % loss: 23 portions of 110 g, about 229.7 g each cooked.",
        ),
        (
            "yield 1500 --portions 40 --loss 4 --portion 110",
            "3498.7 g of flour for 40 portions of 110 g: 3 batches of 1500 g, about 229.7 g each cooked.",
        ),
        ("yield 1000 --portion 110 --moisture 12.67", "about 233.2 g each cooked."),
        ("yield 2000", "2515.2 g after 4 % loss: 20 portions of 120 g, about 250.6 g each cooked."),
        ("moisture 14 --want 31", "24.64 % hydration on flour of 14 % moisture"),
        ("cutter 40 35 30", "Speed 46.7 for 30 mm"),
        ("oven 5 4.3", "14.00 % moisture (wet basis), 16.28 per 100 of dry matter."),
        ("oven 5 4.2", "Above the limit for semolina of Italy and United States."),
    ],
)
def test_answers(tmp_path: Path, arguments: str, said: str) -> None:
    assert said in run(tmp_path, *arguments.split())


def test_every_answer_comes_as_json_too(tmp_path: Path) -> None:
    found = json.loads(run(tmp_path, "ingredients", "1000", "whole egg=200", "--moisture", "14", "--json"))
    assert found == {
        "pour_g": 157.7,
        "water_g": 310.0,
        "dough_g": 1357.7,
        "hydration_pct": 31.0,
        "moisture_pct": 33.144,
        "ingredients": [{"name": "whole egg", "grams": 200.0, "water_pct": 76.15, "water_g": 152.3}],
    }


def test_the_kitchens_own_figures_count(tmp_path: Path) -> None:
    (tmp_path / "ingredients.csv").write_text("name,water_g_per_100g\nwhole egg,70\n", encoding="utf-8")
    (tmp_path / "settings.toml").write_text("[batch]\ntarget_pct = 32\n", encoding="utf-8")
    assert "Pour 180.0 g of water for 32 %" in run(tmp_path, "ingredients", "1000", "whole egg=200")


MEASURED = ("temperature", "1000", "310", "--flour-temp", "20", "--dough-temp", "28", "--water-temp", "30")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["hydration", "0", "3"], "flour 0 g: from 1 to 100000 g is allowed; give another figure."),
        (["ingredients", "1000", "egg"], "'egg' is not an ingredient; write NAME=GRAMS, as 'whole egg=200'."),
        (
            ["ingredients", "1000", "milk=x"],
            "milk 'x': from 0 to 100000 g is allowed; write a number, as 1500 or 1.5 kg.",
        ),
        (
            ["ingredients", "1000", "milk=90@120"],
            "milk: water content 120 %: from 0 to 100 % is allowed; give another figure.",
        ),
        (["egg"], "eggs: a count, as 6, or --recipe NAME is needed, and not both; give one of the two."),
        (
            ["egg", "6", "--moisture", "12"],
            "--moisture is that of the semolina; give --flour too, or leave --moisture out.",
        ),
        (
            ["egg", "--recipe", "egg", "--flour", "1000"],
            "--flour beside --recipe: the recipe has its own share of egg; leave one of them out.",
        ),
        (["egg", "0"], "eggs 0: a whole number from 1 to 2000 is allowed; give another figure."),
        (["blend", "600"], "'600' is not a lot of a blend; write GRAMS@MOISTURE_PCT, as 600@13.2."),
        (["scale", "10", "flour=1", "flour=2"], "'flour=2': each part once, as NAME=GRAMS; write it so."),
        (
            ["oven", "4.3", "5"],
            "after drying 5 g, before it 4.3 g: drying takes mass away; weigh again, or exchange the two.",
        ),
        (
            ["rescue", "1000", "345", "--target", "nan"],
            "target nan %: from 15 to 60 % is allowed; give another figure.",
        ),
        (
            ["hydration", "1500", "465", "--target", "33"],
            "--target would be ignored beside WATER_G; leave one of them out.",
        ),
        (
            ["hydration", "1500", "465", "--celsius", "40"],
            "--celsius would be ignored beside a mass; write the water in ml, or leave it out.",
        ),
        (
            ["hydration", "1500", "--ml", "--celsius", "40"],
            "--ml and --celsius would be ignored without WATER_G; give it, or leave that out.",
        ),
        (
            ["moisture", "31", "14", "--want", "33"],
            "figures given: 2; --want and FLOUR_MOISTURE_PCT alone are needed; write 14 --want 33.",
        ),
        (
            ["moisture", "14"],
            "figures given: 1; HYDRATION_PCT and FLOUR_MOISTURE_PCT are needed; write 31 14.",
        ),
        (
            ["blend", "600@13.2", "--at", "13"],
            "--at would be ignored without --hydration; give both, or none.",
        ),
        (
            [*MEASURED, "--room", "20", "--heat", "5"],
            "--heat and --room would be ignored beside --water-temp; leave one of them out.",
        ),
        (
            ["temperature", "1000", "310", "--flour-temp", "20", "--dough-temp", "70"],
            "dough temperature 70 C: from 0 to 50 C is allowed; give another figure.",
        ),
        (
            [
                "temperature",
                "1000",
                "310",
                "--flour-temp",
                "20",
                "--dough-temp",
                "28",
                "--die",
                "x",
                "--die-heat",
                "9",
            ],
            "--die-heat would be ignored beside --die; leave one of them out.",
        ),
        (
            ["ingredients", "--list", "1000", "milk=9", "--target", "31", "--moisture", "14"],
            "FLOUR_G and NAME=GRAMS and --target and --moisture would be ignored beside --list; leave one of "
            "them out.",
        ),
        (
            ["store", "101"],
            "humidity of the air 101 %: from 10 to 95 % is allowed; give another figure.",
        ),
        (
            ["keeping", "0.95"],
            "keeping needs --ph, for the Food Code, or --moisture, for Italy; give one or both.",
        ),
        (
            ["hydration", "1500", "2 cups"],
            "water '2 cups': from 0 to 100000 g is allowed; cups and pints differ: write g, ml or one of "
            "us cup, us pint, imperial pint, metric cup.",
        ),
        (
            ["hydration", "1500", "100", "--ml", "--celsius", "80"],
            "water 80 C: from 0 to 60 C is allowed; give another figure.",
        ),
    ],
)
def test_wrong_input_is_told_in_one_line(tmp_path: Path, arguments: list[str], said: str) -> None:
    with pytest.raises(DoughError) as caught:
        run(tmp_path, *arguments)
    assert str(caught.value) == said


def test_other_wrong_input(tmp_path: Path) -> None:
    with pytest.raises(RecipeError, match='there is no recipe "eggs"; did you mean egg\\?'):
        run(tmp_path, "recipe", "eggs")

"""Figures on the command line: read as a cook writes them, held to their range, refused in one line."""

import json
import math
import re
import shlex

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.cli.conftest import Ran, Run

TYPE = ("type", "--clock", "scripted", "--json")
BATCH = ["lot 471", "new batch 1500", "water 330", "crumb dry", "poured the rest", "crumb ready", "tray done"]
REFUSED = re.compile(r"crumbcall: [^\n]+\n")


@pytest.mark.parametrize(
    "text",
    [
        *("1500", "1500g", "1500 g", "1500 grams", "1.5kg", "1.5 kg", "1,5 kg", "1,500", "1500.0", "1.5e3"),
        *("one point five kilos", "a kilo and a half", "fifteen hundred", "FIFTEEN HUNDRED"),
    ],
)
def test_one_flour_in_many_ways(run: Run, text: str) -> None:
    # 31 % of 1500 g is 465 g: baker's percent.
    ran = run("dough", "hydration", text, "--json")
    assert ran.objects[0]["water_g"] == pytest.approx(465)


@pytest.mark.parametrize(
    ("arguments", "key", "value"),
    [
        ("dough hydration 1000 '310 ml'", "water_g", 309.445),  # 998.207 kg/m3 at 20 C: IAPWS-95
        ("dough hydration 1000 '310 ml' --celsius 40", "water_g", 307.587),  # 992.216 kg/m3 at 40 C
        ("dough hydration 1000 '0.31 litres' --celsius 40", "water_g", 307.587),
        ("dough hydration 1000 '1 US cup'", "water_g", 236.164),  # 236.588 ml: pint; density as above
        ("dough hydration 2000 '1 imperial pint'", "water_g", 567.242),  # 568.261 ml: pint
        ("dough hydration 1000 310ml --ml --celsius 40", "water_g", 307.587),
        ("dough hydration 1000 --target '32 %'", "water_g", 320),
        ("dough hydration 1000 --target thirty-two", "water_g", 320),
        ("dough hydration 1000 --target 32,5", "water_g", 325),
        ("dough moisture 31% '14 percent'", "moisture_pct", 34.351),
        ("dough ice 465 20C '10 °C'", "ice_g", 46.531),
        ("dough ice 465 68F '50 degrees F'", "ice_g", 46.531),
        ("dough cutter 40 35mm '30 mm'", "speed", 46.667),
        ("dough ingredients 1kg 'whole egg=200g@76.15%'", "pour_g", 157.7),
        ("dough blend 600g@13.2% 0.4kg@14.6", "moisture_pct", 13.76),
        ("dough yield 1.5kg --portions forty --loss 4%", "batches", 3),
    ],
)
def test_units_and_words(run: Run, arguments: str, key: str, value: float) -> None:
    ran = run(*shlex.split(arguments), "--json")
    assert ran.objects[0][key] == pytest.approx(value, abs=0.001)


FROM_FLOUR = "from 1 to 100000 g is allowed"
ANOTHER = "give another figure."


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        ("dough hydration 0", f"flour 0 g: {FROM_FLOUR}; {ANOTHER}"),
        ("dough hydration 1e-308 1", f"flour 1e-308 g: {FROM_FLOUR}; {ANOTHER}"),
        ("dough hydration 0.9999999", f"flour 0.9999999 g: {FROM_FLOUR}; {ANOTHER}"),
        ("dough hydration 1500 nan", f"water nan g: from 0 to 100000 g is allowed; {ANOTHER}"),
        ("dough hydration 100 250", f"hydration 250 %: from 0 to 200 % is allowed; {ANOTHER}"),
        ("dough hydration 12eggs", f"flour '12eggs': {FROM_FLOUR}; write a number, as 1500 or 1.5 kg."),
        ("dough hydration '1 l'", f"flour '1 l': {FROM_FLOUR}; write a number, as 1500 or 1.5 kg."),
        (
            "dough hydration 1000 '3 kg' --ml",
            "water '3 kg': from 0 to 100000 ml is allowed; write a number, as 465.",
        ),
        ("dough hydration ''", f"flour '': {FROM_FLOUR}; write a number, as 1500 or 1.5 kg."),
        ("dough hydration -5", f"-5 is below 0: figures from 0 up are allowed here; {ANOTHER}"),
        ("dough hydration 1500 -0.5", f"-0.5 is below 0: figures from 0 up are allowed here; {ANOTHER}"),
        ("dough hydration -inf", f"-inf is below 0: figures from 0 up are allowed here; {ANOTHER}"),
        ("dough ice 1e308 20 10", f"water 1e+308 g: from 1 to 100000 g is allowed; {ANOTHER}"),
        (
            "dough temperature 1000 310 --flour-temp 20 --dough-temp 28 --heat 500",
            f"heat of mixing 500 kJ/kg: from -10 to 30 kJ/kg is allowed; {ANOTHER}",
        ),
        (
            "dough temperature 1000 10 --flour-temp 0 --dough-temp 28",
            f"water would have to be at 1206.95 C: from -60 to 160 C is allowed; {ANOTHER}",
        ),
        (
            "dough temperature 1000 310 --flour-temp 20 --dough-temp 45 --water-temp 20",
            f"heat of mixing 58.3168 kJ/kg: from -10 to 30 kJ/kg is allowed; {ANOTHER}",
        ),
        (
            "dough temperature 1000 310 --flour-temp 20 --dough-temp tepid",
            "dough temperature 'tepid': from 0 to 50 C is allowed; write a number, as 20.",
        ),
        (
            "dough ingredients",
            "flour is missing: from 1 to 100000 g is allowed; give it first, as in 1000 'whole egg=200'.",
        ),
        ("dough ingredients 1e308 milk=1e308", f"flour 1e+308 g: {FROM_FLOUR}; {ANOTHER}"),
        ("dough ingredients 1000 milk=1e308", f"milk 1e+308 g: from 0 to 100000 g is allowed; {ANOTHER}"),
        ("dough ingredients 1000 milk=-1", f"milk -1 g: from 0 to 100000 g is allowed; {ANOTHER}"),
        ("dough blend 600@13.2 --at 200", f"flour moisture 200 %: from 0 to 30 % is allowed; {ANOTHER}"),
        ("dough blend 600@13.2 --hydration 300", f"hydration 300 %: from 0 to 200 % is allowed; {ANOTHER}"),
        (
            "dough oven 25 25",
            "after drying 25 g, before it 25 g: drying takes mass away; weigh again, or exchange the two.",
        ),
        ("dough oven 25 10", f"moisture found 60 %: from 0 to 30 % is allowed; {ANOTHER}"),
        (
            "dough oven 25 24 --dish 25",
            f"sample before drying 0 g: from 0.5 to 10000 g is allowed; {ANOTHER}",
        ),
        (
            "dough yield 1500 --portions 2.5",
            f"portions 2.5: a whole number from 1 to 9999 is allowed; {ANOTHER}",
        ),
        ("dough yield 50 --portions 2", f"flour of a batch 50 g: from 100 to 50000 g is allowed; {ANOTHER}"),
        ("dough yield 1500 --loss 60", f"loss 60 %: from 0 to 50 % is allowed; {ANOTHER}"),
        ("dough rescue 1000 345 --hopper 1", f"hopper 1 g: from 100 to 50000 g is allowed; {ANOTHER}"),
        ("dough cutter 0 35 30", f"speed 0: from 0.1 to 1000 is allowed; {ANOTHER}"),
        ("dough cutter 900 500 2", f"speed that this takes 225000: from 0.1 to 1000 is allowed; {ANOTHER}"),
        ("dough moisture 31 abc", "flour moisture 'abc': from 0 to 30 % is allowed; write a number, as 31."),
        (
            "dough moisture 14 --want 79",
            f"hydration that this takes 309.524 %: from 0 to 200 % is allowed; {ANOTHER}",
        ),
        ("dough scale 1000 flour=0", f"flour 0 g: {FROM_FLOUR}; {ANOTHER}"),
        ("dough recipe egg 1e9", f"flour 1e+09 g: {FROM_FLOUR}; {ANOTHER}"),
        ("plan penne=1e308", f"penne: portions 1e+308: a whole number from 1 to 9999 is allowed; {ANOTHER}"),
        ("plan penne=lots", None),
        (
            "plan --service 18:30",
            "--service 18:30 would be ignored without orders; write them too, as --service 18:30 "
            '"rigatoni=40".',
        ),
    ],
)
def test_what_has_no_meaning_is_refused_in_one_line(run: Run, arguments: str, line: str | None) -> None:
    refused(run(*shlex.split(arguments)), line)


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        ("lots 12 --flour 1e308", f"flour of a batch 1e+308 g: from 100 to 50000 g is allowed; {ANOTHER}"),
        ("lots --most 0", f"lots 0: a whole number from 1 to 1000 is allowed; {ANOTHER}"),
        (
            "lots abc",
            "lot 'abc': up to 20 digits or a lot of this kitchen (471) are allowed; "
            "write it as crumbcall lots 471.",
        ),
        ("lots ''", None),
        (
            "sheet 9223372036854775808",
            f"batch number 9.22337e+18: a whole number from 1 to 999999 is allowed; {ANOTHER}",
        ),
        (
            "sheet 4th",
            "batch number '4th': a whole number from 1 to 999999 is allowed; write a number, as 4.",
        ),
        ("sheet -1", f"-1 is below 0: figures from 0 up are allowed here; {ANOTHER}"),
        (
            "label 9223372036854775808",
            f"batch number 9.22337e+18: a whole number from 1 to 999999 is allowed; {ANOTHER}",
        ),
        ("label 1 --all --tray 1", "--all and --tray 1: one of the two is allowed; leave the other out."),
        ("label 1 --tray 0", f"tray 0: a whole number from 1 to 999 is allowed; {ANOTHER}"),
        ("ledger show --last 0", f"events 0: a whole number from 1 to 999999 is allowed; {ANOTHER}"),
    ],
)
def test_and_beside_a_journal(run: Run, arguments: str, line: str | None) -> None:
    run(*TYPE, lines=[*BATCH, "close batch"])
    refused(run(*shlex.split(arguments)), line)


def refused(ran: Ran, line: str | None) -> None:
    assert (ran.status, ran.out) == (2, "")
    assert REFUSED.fullmatch(ran.err)
    assert "Something broke" not in ran.err
    if line is not None:
        assert ran.err == f"crumbcall: {line}\n"


def test_an_option_that_is_not_known_stays_one(run: Run) -> None:
    assert (
        "No such option '--targt'. Did you mean '--target'?"
        in run("dough", "hydration", "1", "--targt", "3").err
    )
    assert "No such option '-x'." in run("dough", "hydration", "-x").err


def test_a_lot_is_known_or_in_digits(run: Run) -> None:
    run(*TYPE, lines=[*BATCH, "close batch"])
    assert run("lots", "471").status == 0
    assert run("lots", "999").out.startswith("Lot 999: likely 30.")
    assert run("lots", "471 egg").status == 2


numbers = st.one_of(
    st.floats(),
    st.integers(-(2**70), 2**70),
    st.sampled_from([0.0, -0.0, 5e-324, 1e-308, 1e308, math.inf, -math.inf, math.nan, 2**63, 2**63 - 1]),
    st.floats(0, 100_000),
    st.floats(5, 70),
).map(str)
words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
figures = st.one_of(
    numbers, numbers, st.tuples(numbers, st.sampled_from(["g", " kg", "%", "C", "ml"])).map("".join), words
)
parts = st.one_of(
    st.tuples(st.sampled_from(["flour", "milk", "whole egg", "x"]), figures).map("=".join),
    st.tuples(figures, figures).map("@".join),
    st.tuples(figures, figures).map(lambda pair: f"whole egg={pair[0]}@{pair[1]}"),
    words,
)
COMMANDS = {
    "dough hydration": (1, 2, ("--target", "--moisture", "--celsius")),
    "dough moisture": (1, 2, ("--to", "--want")),
    "dough rescue": (2, 2, ("--target", "--hopper")),
    "dough temperature": (
        2,
        2,
        ("--flour-temp", "--dough-temp", "--water-temp", "--room", "--die-heat", "--die"),
    ),
    "dough store": (1, 1, ("--celsius", "--hydration")),
    "dough ice": (3, 3, ("--ice-temp",)),
    "dough drying": (2, 2, ("--to",)),
    "dough weighing": (3, 3, ()),
    "dough noise": (1, 1, ()),
    "dough keeping": (1, 1, ("--ph", "--moisture")),
    "dough oven": (2, 2, ("--dish",)),
    "dough yield": (1, 1, ("--target", "--loss", "--portion", "--portions", "--moisture")),
    "dough cutter": (3, 3, ()),
    "dough ingredients": (1, 1, ("--target", "--moisture")),
    "dough scale": (1, 1, ("--flour",)),
    "dough blend": (0, 0, ("--hydration", "--at")),
    "dough recipe": (0, 2, ()),
    "lots": (0, 1, ("--flour", "--most")),
    "sheet": (0, 1, ()),
    "label": (0, 1, ("--tray",)),
}
TAKE_PARTS = ("dough ingredients", "dough scale", "dough blend")
IN_TEXT_ALONE = ("sheet", "label")
REQUIRED = ("--flour-temp", "--dough-temp")


@st.composite
def command_lines(draw: st.DrawFn) -> list[str]:
    """A command with figures and texts of any kind in all its places."""
    name = draw(st.sampled_from(list(COMMANDS)))
    least, most, options = COMMANDS[name]
    given = name.split()
    for option in options:
        if option in REQUIRED or draw(st.booleans()):
            given += [option, draw(figures)]
    if name not in IN_TEXT_ALONE:
        given.append("--json")
    given.append("--")
    given += [draw(figures) for _ in range(draw(st.integers(least, most)))]
    if name in TAKE_PARTS:
        given += draw(st.lists(parts, min_size=1, max_size=3))
    return given


def refuse_constant(name: str) -> None:
    raise AssertionError(f"{name} is not a figure")


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(command_lines())
def test_any_figure_is_answered_or_refused_in_one_line(run: Run, arguments: list[str]) -> None:
    ran = run(*arguments)
    if ran.status == 0:
        assert ran.err == ""
        if "--json" in arguments:
            for line in ran.out.splitlines():
                json.loads(line, parse_constant=refuse_constant)
        return
    refused(ran, None)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_figures_in_their_ranges_are_answered_with_finite_ones(run: Run, data: st.DataObject) -> None:
    """Where each argument is in its range the answer has no nan, no inf and no negative mass."""
    flour, water = data.draw(st.floats(1, 100_000)), data.draw(st.floats(0, 100_000))
    pct, moisture = data.draw(st.floats(15, 60)), data.draw(st.floats(0, 30))
    tap = data.draw(st.floats(0, 100))
    lines = [
        ["hydration", str(flour), str(water), "--moisture", str(moisture)],
        ["hydration", str(flour), "--target", str(pct), "--moisture", str(moisture)],
        ["moisture", str(pct), str(moisture), "--to", str(data.draw(st.floats(0, 30)))],
        ["rescue", str(flour), str(water), "--target", str(pct)],
        ["ice", str(max(1.0, water)), str(tap), str(data.draw(st.floats(0, tap)))],
        ["yield", str(flour), "--target", str(pct), "--portion", str(data.draw(st.floats(10, 1000)))],
        ["ingredients", str(flour), f"milk={water}", "--target", str(pct), "--moisture", str(moisture)],
    ]
    for line in lines:
        ran = run("dough", *line, "--json")
        assert (ran.status, ran.out) == (2, "") or all(
            value is None or isinstance(value, str | list) or 0 <= value < math.inf
            for value in ran.objects[0].values()
        )
        assert "Something broke" not in ran.err

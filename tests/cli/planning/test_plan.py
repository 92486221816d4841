"""`crumbcall plan`: made, kept, and taken by the station."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from assistant.app.application import open_application
from assistant.batch.record.state import State
from assistant.cli.planning.orders import read_order
from assistant.cli.planning.remarks import remarks, service_day
from assistant.clock import ScriptedClock
from assistant.config.day_plan import DayPlan
from assistant.config.home import Home
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import Order, PlannedBatch
from assistant.errors import SettingsError
from tests.cli.conftest import Run

ORDERS = ("tagliatelle egg=20", "rigatoni=40")


pytestmark = pytest.mark.usefixtures("at")


def test_a_plan_is_made_kept_and_taken(run: Run) -> None:
    made = run("plan", "--service", "18:30", *ORDERS)
    assert made.status == 0
    assert run("plan").out == made.out
    batches = run("plan", "--json").objects
    assert [batch["die"] for batch in batches] == ["rigatoni", "rigatoni", "tagliatelle"]
    # 20 portions of 120 g at 4 % loss and 31 %: 2500 g of dough, half a gram for the water's rounding,
    # 1908.8 g of flour, 1910 in steps of 5; the other 20 portions of the 40 the same.
    assert [batch["flour_g"] for batch in batches][:2] == [1910, 1910]
    turns = run("type", "--clock", "scripted", "--json", lines=["what next", "new batch"]).objects
    assert turns[0]["replies"][0]["key"] == "next_planned"
    assert turns[1]["replies"][0] == {
        "key": "batch_opened_planned",
        "text": "Nineteen ten of flour for rigatoni takes five ninety-two.",
    }


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--service", "25:00", "penne=4"), "--service '25:00' is not a time of day; write it as 18:30."),
        (
            ("penne",),
            "'penne' is not an order; write a shape, a recipe if it has one, and portions, "
            'as "tagliatelle egg=20".',
        ),
        (("penne=0",), "penne: portions 0: a whole number from 1 to 9999 is allowed; give another figure."),
        (("penne=-1",), "penne: portions -1: a whole number from 1 to 9999 is allowed; give another figure."),
        (("penne=",), None),
        (("penne=½",), None),
        (("=4",), None),
        (("--service", "18:60", "penne=4"), None),
        (
            ("penne eg=4",),
            '"eg" is no shape and no recipe; did you mean egg? A shape of your own goes into [cooking] own '
            "of the settings.",
        ),
        (
            ("tagliatele egg=4",),
            '"tagliatele" is no shape and no recipe; did you mean tagliatelle? A shape of your own goes into '
            "[cooking] own of the settings.",
        ),
        (("egg spinach=4",), '"egg spinach" is two recipes; name one shape and one recipe.'),
        (("penne fusilli=4",), '"penne fusilli" is two shapes; name one shape and one recipe.'),
        (
            ("rigatoni=9999", "rigatoni=2"),
            "rigatoni: portions 10001: a whole number from 1 to 9999 is allowed; give another figure.",
        ),
        ((), 'No plan is kept; make one with: crumbcall plan --service 18:30 "rigatoni=40".'),
    ],
)
def test_what_can_not_be_planned_is_one_clear_line(
    run: Run, arguments: tuple[str, ...], said: str | None
) -> None:
    ran = run("plan", *arguments)
    assert (ran.status, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
    assert "Something broke" not in ran.err
    if said is not None:
        assert ran.err == f"crumbcall: {said}\n"


def test_a_damaged_plan_is_told(run: Run, tmp_path: Path) -> None:
    run("plan", *ORDERS)
    (tmp_path / "home" / "plan.json").write_text("{", encoding="utf-8")
    ran = run("plan")
    assert ran.status == 2
    assert "is not a plan" in ran.err
    assert ran.err.count("\n") == 1


PLAIN, EGG, INK = (RecipePlan(name, 31, 30, 33) for name in ("plain", "egg", "squid ink"))
RECIPES = {plan.recipe: plan for plan in (PLAIN, EGG, INK)}
SHAPES = {"rigatoni", "angel hair"}


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("rigatoni=40", Order("rigatoni", 40)),
        ("egg=20", Order("pasta", 20, EGG)),
        ("squid ink=20", Order("pasta", 20, INK)),
        ("rigatoni egg=20", Order("rigatoni", 20, EGG)),
        ("Egg  rigatoni = 20", Order("rigatoni", 20, EGG)),
        ("angel hair squid ink=twenty", Order("angel hair", 20, INK)),
        ("squid ink angel hair=20", Order("angel hair", 20, INK)),
        ("rigatoni plain=20", Order("rigatoni", 20, PLAIN)),
    ],
)
def test_an_order_is_a_shape_a_recipe_or_both(text: str, order: Order) -> None:
    assert read_order(text, RECIPES, SHAPES) == order


def test_a_word_that_is_both_is_asked_about() -> None:
    with pytest.raises(SettingsError) as caught:
        read_order("rigatoni=4", RECIPES | {"rigatoni": EGG}, SHAPES)
    assert str(caught.value) == (
        '"rigatoni" may be the shape rigatoni or the recipe rigatoni; name both, the shape and the recipe.'
    )
    assert read_order("rigatoni plain=4", RECIPES | {"rigatoni": EGG}, SHAPES).plan is PLAIN


def test_a_plan_by_a_recipes_name_is_a_plan_of_that_recipe(run: Run) -> None:
    ran = run("plan", "egg=20")
    assert "pasta egg" in ran.out
    # 20 g of whole egg to 100 g of flour: the shipped recipe.
    assert "It takes 1845 g flour, 369 g whole egg." in ran.out
    (batch,) = run("plan", "--json").objects
    assert (batch["recipe"], batch["flour_g"], round(batch["water_g"])) == ("egg", 1845, 291)
    run("type", lines=["new batch"])
    assert run("batches", "--json").objects[0]["recipe"] == "egg"


def test_what_is_late_is_said(run: Run, at: Callable[[str], None]) -> None:
    at("2026-03-02 17:30")
    ran = run("plan", "--service", "18:00", "rigatoni=20", "rigatoni egg=4")
    assert ran.status == 0
    # 2502 g of dough take 25 minutes and 270 s, the changeover 10 minutes, 502 g of egg dough 5 minutes and
    # 300 s: 49.6 minutes before 18:00 is 17:10, and twenty minutes late.
    assert ran.out.splitlines()[1].endswith("late")
    assert (
        "Late: rigatoni was to begin at 17:10, and it is 17:30. Begun now, all is through the die at 18:20, "
        "not at 18:00; plan fewer portions, or a later service."
    ) in ran.out.splitlines()
    at("2026-03-02 12:00")
    assert "ate: " not in run("plan").out
    at("2026-03-03 08:00")
    assert "This plan was for 2026-03-02, and 2 of its batches were not made; plan anew." in run("plan").out


def test_a_service_that_is_past_is_tomorrows(run: Run, at: Callable[[str], None]) -> None:
    at("2026-12-31 21:00")
    assert "Service 18:00 on 2027-01-01." in run("plan", "rigatoni=20").out
    assert service_day("21:00", datetime(2026, 12, 31, 21, 0)) == "2026-12-31"
    assert service_day("20:59", datetime(2026, 12, 31, 21, 0)) == "2027-01-01"


def test_what_was_not_finished_is_said_when_another_plan_takes_its_place(run: Run) -> None:
    run("plan", "--service", "18:30", *ORDERS)
    run("type", lines=["new batch", "poured the rest", "close batch", "new batch"])
    stands = [batch["status"] for batch in run("plan", "--json").objects]
    assert stands == ["made", "open", "to do"]
    out = run("plan", "penne=3").out
    assert "Batch 2 is open and not of this plan: close it or drop it before the first." in out
    assert "The plan before had 1 of its 3 batches to make: tagliatelle egg 1845 g." in out
    assert "The plan before" not in run("plan").out


def test_a_plan_of_an_older_version_is_read(run: Run, tmp_path: Path) -> None:
    (tmp_path / "home").mkdir(exist_ok=True)
    batch = (
        '{"key":"1/1","die":"penne","recipe":null,"flour_g":195,"water_g":60,"portions":2,"start":"00:37"}'
    )
    (tmp_path / "home" / "plan.json").write_text(
        f'{{"service":"00:45","batches":[{batch}]}}', encoding="utf-8"
    )
    assert run("plan").out.splitlines()[1].split() == ["00:37", "penne", "195", "g", "60", "g", "2"]


def test_a_journal_that_can_not_be_read_leaves_the_plan(run: Run, tmp_path: Path) -> None:
    run("plan", *ORDERS)
    (tmp_path / "home" / "journal.sqlite").write_bytes(b"no journal at all" * 400)
    ran = run("plan")
    assert ran.status == 0
    assert "What is made is not known: " in ran.out


def test_a_clock_that_was_set_back_makes_no_batch_of_a_new_plan_a_made_one(run: Run) -> None:
    """The plan is named by its time of making, which does not move here."""
    run("plan", "rigatoni=20")
    run("type", lines=["new batch", "poured the rest", "close batch"])
    run("plan", "penne=20")
    assert [batch["status"] for batch in run("plan", "--json").objects] == ["to do"]


def test_a_running_station_goes_by_the_new_plan(run: Run, tmp_path: Path) -> None:
    """The station only reads the file; journal and state keep their one writer."""
    run("plan", "rigatoni=20")
    home = Home.find(tmp_path / "home")
    station, journal, _ = open_application(home).open_station(ScriptedClock())
    try:
        assert "rigatoni" in station.hear("what next").replies[0].text
        run("plan", "penne=10")
        assert "penne" in station.hear("what next").replies[0].text
        assert "for penne takes" in station.hear("new batch").replies[0].text
        (tmp_path / "home" / "plan.json").write_text("{", encoding="utf-8")
        station.hear("close batch")
        assert [reply.key for reply in station.hear("what next").replies] == ["next_open"]
        (tmp_path / "home" / "plan.json").unlink()
        run("plan", "fusilli=10")
        assert "fusilli" in station.hear("what next").replies[0].text
    finally:
        journal.close()


def test_the_latest_minute_of_a_plan_without_a_day_is_not_known() -> None:
    plan = DayPlan("18:00", (PlannedBatch("k/1", "penne", None, 195.0, 60.0, 2, "17:50"),))
    lines = remarks(plan, State(), datetime(2026, 3, 2, 23, 0), {}, None)
    assert len(lines) == 2

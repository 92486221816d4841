"""`crumbcall plan`: made, kept, and taken by the station."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run

ORDERS = ("tagliatelle egg=20", "rigatoni=40")


def test_a_plan_is_made_kept_and_taken(run: Run) -> None:
    made = run("plan", "--service", "18:30", *ORDERS)
    assert made.status == 0
    assert run("plan").out == made.out
    batches = run("plan", "--json").objects
    assert [batch["die"] for batch in batches] == ["rigatoni", "rigatoni", "tagliatelle"]
    # 40 portions of 120 g at 4 % loss and 31 %: 5000 g of dough, 3816.8 g of flour, two batches of 1910 g.
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
        (("penne eg=4",), 'there is no recipe "eg"; did you mean egg?'),
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

"""Each die's own rate: learned from batches as they were typed, listed, and planned with."""

from collections.abc import Callable

import pytest

from tests.cli.conftest import Run

pytestmark = pytest.mark.usefixtures("at")


def a_batch(*, tray_s: int, exit_c: float | None = None, die: str = "rigatoni") -> list[str]:
    """2,000 g of flour at 31 % through the die in four trays."""
    heat = ["dough 24 degrees", f"exit {exit_c} degrees"] if exit_c else []
    begin = ["new batch 2000", "poured the rest", "crumb ready", f"new die {die}", "extruding"]
    return [*begin, *heat, *[f"+{tray_s}s", "tray done"] * 4, "close batch"]


def made(run: Run, seconds: list[int], exit_c: float | None = None, die: str = "rigatoni") -> None:
    """So many batches, each with this time between its trays (s)."""
    lines = [line for tray_s in seconds for line in a_batch(tray_s=tray_s, exit_c=exit_c, die=die)]
    assert run("type", "--clock", "scripted", lines=lines).status == 0


def test_a_plan_goes_by_the_die_once_it_is_known(run: Run, at: Callable[[str], None]) -> None:
    at("2026-03-02 10:00")
    before = run("plan", "--service", "18:00", "rigatoni=20", "penne=20")
    assert "Through the die" not in before.out
    # 2,620 g in four trays of 600 s: 65.5 g a minute.
    made(run, [600, 600, 610])
    assert "Through the die" not in run("plan", "--service", "18:00", "rigatoni=20").out
    made(run, [590])
    found = run("plan", "--service", "18:00", "rigatoni=20", "penne=20")
    assert (
        "Through the die as its last batches went: rigatoni 66 g a minute; the rest by the settings."
        in found.out
    )
    line = next(one for one in found.out.splitlines() if one.startswith("Through"))
    assert line in run("plan").out.splitlines()
    starts = [
        next(line.split()[0] for line in one.out.splitlines() if "rigatoni" in line)
        for one in (before, found)
    ]
    assert starts[1] < starts[0]


def test_a_die_with_one_batch_is_planned_with_beside_the_others(run: Run) -> None:
    """Penne at 131 g a minute by one batch, where the press's other die puts through 65.5."""
    made(run, [600, 600, 600, 600])
    made(run, [300], die="penne")
    found = run("plan", "--service", "18:00", "rigatoni=20", "penne=20").out
    # (16 log 131 + 4.08 log 65.5) / 20.08: see tests/dough/calculators/test_throughput.py.
    assert "as its last batches went: penne 114 g a minute, rigatoni 66 g a minute." in found
    table = run("batches", "--dies").out.splitlines()
    assert table[1].split() == ["penne", "1", "131", "-", "-", "-", "planned", "with", "114"]
    penne, rigatoni = run("batches", "--dies", "--json").objects
    assert (penne["planned_with"], penne["planned_g_per_min"]) == (True, pytest.approx(113.8, abs=0.1))
    assert rigatoni["planned_g_per_min"] == rigatoni["g_per_min"]


def test_what_is_known_of_each_die_is_listed(run: Run) -> None:
    made(run, [600, 600, 610, 590], exit_c=44)
    table = run("batches", "--dies").out.splitlines()
    assert " ".join(table[0].split()) == "die batches g a minute nine of ten a tray kJ/kg"
    # Rates 65.5, 65.5, 64.4 and 66.6: median deviation 0.54, so 1.3 to each side. Gaps of 600 s in the
    # middle; 20 C over the dough by some 2.5 kJ/kg K.
    assert table[1].split() == ["rigatoni", "4", "66", "64-67", "10:00", "50", "(4)", "planned", "with"]
    found = run("batches", "--dies", "--json").objects[0]
    assert (found["die"], found["batches"], found["readings"], found["planned_with"]) == (
        "rigatoni",
        4,
        4,
        True,
    )
    assert found["g_per_min"] == pytest.approx(65.5, abs=0.1)


def test_without_a_batch_at_the_press_nothing_is_known(run: Run) -> None:
    run("type", lines=["new batch 1500", "poured the rest", "close batch"])
    assert run("batches", "--dies").out == (
        "Nothing known of a die yet; say extruding, and tray done, before a batch is closed.\n"
    )
    assert run("batches", "--dies", "--json").out == ""


def test_the_station_calls_slow_trays_by_what_it_learned(run: Run) -> None:
    made(run, [300, 300, 300, 300])
    slow = ["+400s", "tray done"] * 3
    lines = [*a_batch(tray_s=300)[:5], *slow]
    turns = run("type", "--clock", "scripted", "--json", lines=lines).objects
    called = [turn for turn in turns if any(one["key"] == "trays_slow" for one in turn["replies"])]
    assert len(called) == 1
    assert called[0]["replies"][1]["text"] == "Thirty-five percent slower trays: dry crumb, or the die clogs."


def test_the_dough_calculator_takes_the_heat_of_a_die_that_is_known(run: Run) -> None:
    made(run, [600, 600], exit_c=44)
    asked = ("dough", "temperature", "2000", "620", "--flour-temp", "20", "--dough-temp", "24", "--die")
    # What was learned at 24 C gives the strand back that it was learned from.
    assert "Out of the die at 44.0 C (111 F) at most, if 50" in run(*asked, "Rigatoni").out
    assert "By 2 readings of this die, give or take 0" in run(*asked, "rigatoni").out
    refused = run(*asked, "penne")
    assert refused.status == 2
    assert refused.err == (
        "crumbcall: die 'penne': no temperature was told of it, known are rigatoni; "
        "say in a batch: dough, and its temperature; exit, and that of the strand.\n"
    )

"""How a batch went through the die, from its journal: derived by hand from what was said when."""

from datetime import UTC

import pytest

from assistant.batch.record import commands as cmd
from assistant.dough.calculators.die_heat import specific_heat
from assistant.dough.calculators.throughput import DieRun
from assistant.sheets import sheet_text
from assistant.sheets.die_runs import run_of
from tests.sheets.test_sheet import Day, grams
from tests.sheets.words import english

TO_THE_PRESS: tuple[tuple[float, cmd.Command], ...] = (
    (0.0, cmd.NewBatch(grams(1500))),
    (10.0, cmd.PourRest()),
    (10.0, cmd.JudgeCrumb("ready")),
    (10.0, cmd.NewDie("rigatoni")),
    (60.0, cmd.Extruding()),
)
Steps = list[tuple[float, cmd.Command]]
DOUGH_G = 1965.0
"""1500 g of flour and 465 g of water."""


def run_after(*steps: tuple[float, cmd.Command]) -> DieRun | None:
    return run_of(Day(*TO_THE_PRESS, *steps).journal.batch(1))


def seconds(*steps: tuple[float, cmd.Command]) -> float:
    found = run_after(*steps)
    assert found is not None
    assert (found.die, found.grams) == ("rigatoni", DOUGH_G)
    return found.seconds


TRAY, CLOSE = cmd.TrayDone(), cmd.CloseBatch()


def test_it_runs_from_extruding_to_the_last_tray() -> None:
    assert seconds((400.0, TRAY), (300.0, TRAY), (300.0, TRAY), (5.0, CLOSE)) == 1005.0


def test_a_batch_that_is_closed_long_after_ran_to_its_last_tray() -> None:
    assert seconds((400.0, TRAY), (300.0, TRAY), (300.0, TRAY), (3600.0, CLOSE)) == 1000.0
    assert seconds((400.0, TRAY), (3600.0, CLOSE)) == 400.0


def test_a_last_tray_that_was_not_full_took_its_time_too() -> None:
    assert seconds((400.0, TRAY), (300.0, TRAY), (300.0, TRAY), (200.0, CLOSE)) == 1200.0
    assert seconds((900.0, CLOSE)) == 900.0


def test_a_pause_for_another_mix_is_not_at_the_press() -> None:
    again: Steps = [(100.0, cmd.Mix(60.0)), (70.0, cmd.GotIt()), (30.0, cmd.Extruding())]
    assert seconds((400.0, TRAY), *again, (200.0, TRAY), (5.0, CLOSE)) == 400.0 + 100.0 + 200.0 + 5.0


def test_what_was_taken_back_does_not_count() -> None:
    undo = cmd.Undo()
    assert seconds((400.0, TRAY), (300.0, TRAY), (2.0, undo), (98.0, TRAY), (2.0, CLOSE)) == 802.0
    early = Day(*TO_THE_PRESS[:-1], (0.0, cmd.Extruding()), (50.0, undo), (10.0, cmd.Extruding()))
    for after, command in ((400.0, TRAY), (1.0, CLOSE)):
        early.say(after, command)
    found = run_of(early.journal.batch(1))
    assert found is not None
    assert found.seconds == 401.0


def test_gaps_are_those_of_trays_that_came_one_after_the_other() -> None:
    again: Steps = [(100.0, cmd.Mix(60.0)), (70.0, cmd.GotIt()), (30.0, cmd.Extruding())]
    found = run_after((400.0, TRAY), (300.0, TRAY), *again, (200.0, TRAY), (310.0, TRAY), (5.0, CLOSE))
    assert found is not None
    assert found.gaps_s == (300.0, 310.0)


@pytest.mark.parametrize(
    "steps",
    [
        [(400.0, TRAY)],
        [(400.0, cmd.NewDie("penne")), (10.0, cmd.Extruding()), (400.0, TRAY), (5.0, CLOSE)],
        [(400.0, TRAY), (5.0, cmd.DropBatch())],
    ],
    ids=["still open", "two dies", "dropped"],
)
def test_of_some_batches_nothing_can_be_said(steps: Steps) -> None:
    assert run_after(*steps) is None


def test_a_batch_that_was_never_at_the_press_has_no_run() -> None:
    day = Day(*TO_THE_PRESS[:-1], (60.0, CLOSE))
    assert run_of(day.journal.batch(1)) is None


@pytest.mark.parametrize("certain", [True, False])
def test_the_press_has_no_power_in_a_power_cut(certain: bool) -> None:
    day = Day(*TO_THE_PRESS, (400.0, TRAY), (100.0, cmd.SayAgain()))
    day.restart(off_s=600.0, shift=-1090.0, certain=certain)
    day.say(200.0, TRAY)
    day.say(5.0, CLOSE)
    found = run_of(day.journal.batch(1))
    if not certain:
        assert found is None
        return
    assert found is not None
    # What ran between the tray and the cut is not known.
    assert found.seconds == 400.0 + 205.0
    assert found.gaps_s == ()


def test_the_heat_of_the_die_is_by_the_dough_that_went_in() -> None:
    warm: Steps = [(5.0, cmd.TellCondition("dough", 24.0)), (400.0, cmd.TellCondition("exit", 44.0))]
    found = run_after(*warm, (100.0, cmd.TellCondition("exit", 46.0)), (10.0, TRAY), (5.0, CLOSE))
    assert found is not None
    # Dough of 31 % on flour of 14 %: 34.35 % moisture (trade's case 3); 20 and 22 C times its specific heat.
    heat = specific_heat(34.351, 24.0)
    assert found.energies == pytest.approx((20.0 * heat, 22.0 * heat), rel=1e-4)
    assert found.exit_c == 46.0


def test_without_the_doughs_temperature_there_is_no_energy() -> None:
    found = run_after((400.0, cmd.TellCondition("exit", 44.0)), (10.0, TRAY), (5.0, CLOSE))
    assert found is not None
    assert (found.energies, found.exit_c) == ((), 44.0)


def test_the_sheet_has_pace_and_heat() -> None:
    day = Day(*TO_THE_PRESS, (5.0, cmd.TellCondition("dough", 24.0)), (395.0, TRAY))
    day.say(300.0, cmd.TellCondition("exit", 44.0))
    day.say(0.0, TRAY)
    assert day.sheet().run is None
    day.say(0.0, CLOSE)
    # 1,965 g in 700 s are 168 g a minute; 20 C by some 2.5 kJ/kg K.
    text = sheet_text(day.sheet(), english(), UTC)
    assert "168 g a minute, 11:40 at the press" in text
    assert "44 C (111 F) at most out of the die: 50 kJ/kg over the dough" in text
    assert "out of the die 44 C" in text

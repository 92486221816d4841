"""What is sooner a mistake than meant is asked about: another lot, portions, the same pour, far figures."""

from dataclasses import replace

import pytest

from assistant.batch.decide.decide import Said
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from tests.batch.kitchen import REMEMBERS, Kitchen, Spoken, at_target, mixing, typed

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)
READY = cmd.JudgeCrumb("ready")


def reasons(kitchen: Kitchen) -> list[str]:
    return [event.reason for event in kitchen.events if isinstance(event, ev.QuestionAsked)]


# ---- another lot


def with_lot(lot: str = "471") -> Kitchen:
    kitchen = mixing(1500)
    kitchen.say(cmd.SetLot(lot))
    kitchen.wait(60)
    return kitchen


def test_another_lot_in_an_open_batch_is_asked_about() -> None:
    kitchen = with_lot()
    assert kitchen.say(cmd.SetLot("472")) == [("ask_lot_change", {"lot": "472", "was": "471"})]
    assert kitchen.batch.lot == "471"
    assert kitchen.say(NO) == [("not_logged", {})]
    kitchen.say(cmd.SetLot("472"))
    assert kitchen.say(YES) == [("lot_named", {"lot": "472"})]
    assert kitchen.batch.lot == "472"
    kitchen.say(cmd.Undo())
    assert kitchen.batch.lot == "471"
    kitchen.check()


def test_the_question_about_another_lot_takes_a_third_one() -> None:
    kitchen = with_lot()
    kitchen.say(cmd.SetLot("472"))
    assert kitchen.say(cmd.GivenLot("473")) == [("ask_lot_change", {"lot": "473", "was": "471"})]
    kitchen.say(cmd.GivenLot("473"))
    assert kitchen.batch.lot == "473"
    kitchen.check()


def test_the_first_lot_the_same_lot_and_the_next_batchs_are_not_asked_about() -> None:
    kitchen = with_lot()
    kitchen.say(cmd.SetLot("471"))
    kitchen.say(cmd.DropBatch())
    kitchen.say(cmd.SetLot("5"))
    kitchen.say(cmd.SetLot("6"))
    assert kitchen.state.next_lot == "6"
    assert reasons(kitchen) == []


def test_a_lot_that_was_just_read_back_is_corrected_without_a_question() -> None:
    kitchen = mixing(1500)
    kitchen.say(cmd.SetLot("471"))
    kitchen.wait(4)
    assert kitchen.say(cmd.GivenLot("417")) == [("lot_named", {"lot": "417"})]
    assert reasons(kitchen) == []
    kitchen.check()


def test_another_lot_that_was_badly_heard_is_asked_about_once() -> None:
    kitchen = with_lot()
    assert kitchen.keys(cmd.SetLot("472"), unsure=True) == ["ask_lot_change"]
    assert kitchen.keys(YES) == ["lot_named"]
    assert reasons(kitchen) == ["lot_change"]


# ---- portions


def test_more_portions_than_the_dough_gives_are_asked_about_with_figures() -> None:
    # 1500 + 465 = 1965 g of dough: 16 portions of 120 g are 1920 g, half a portion more is 1980 g.
    kitchen = at_target(1500)
    assert kitchen.keys(cmd.Portions(16)) == ["portions_counted"]
    # 45 g are left: one portion more would be 75 g beyond the dough.
    assert kitchen.say(cmd.Portions(1)) == [
        ("ask_portions", {"count": 1, "portion": 120.0, "grams": pytest.approx(45)})
    ]
    assert kitchen.say(NO) == [("not_logged", {})]
    assert kitchen.batch.portions == 16
    kitchen.say(cmd.Portions(4))
    assert kitchen.keys(YES) == ["portions_counted"]
    assert kitchen.batch.portions == 20
    kitchen.say(cmd.Undo())
    assert kitchen.batch.portions == 16
    kitchen.check()


@pytest.mark.parametrize(("portion", "asked"), [(131.0, 0), (136.0, 1)])
def test_cooks_do_not_weigh_to_the_gram(portion: float, asked: int) -> None:
    # 15 portions of 1965 g: at 131 g they are the dough to the gram, at 135.5 g half a portion beyond it.
    kitchen = mixing(1500, rules=BatchRules(portion_g=portion))
    kitchen.say(cmd.PourRest())
    kitchen.say(cmd.Portions(15))
    assert len(reasons(kitchen)) == asked


def test_scrap_is_no_portion() -> None:
    kitchen = at_target(1500)
    kitchen.say(cmd.Scrap(typed(400)))
    assert kitchen.say(cmd.Portions(16)) == [("ask_portions", {"count": 16, "portion": 120, "grams": 1565})]


# ---- the same pour


def poured(command: cmd.Command, after: float) -> list[Spoken]:
    kitchen = mixing(1500)
    kitchen.say(command)
    kitchen.now += after
    return kitchen.say(command)


@pytest.mark.parametrize("after", [0.0, 8.0])
@pytest.mark.parametrize("kind", [cmd.AddWater, cmd.AddFlour])
def test_the_same_mass_within_eight_seconds_is_asked_about(
    kind: type[cmd.AddWater | cmd.AddFlour], after: float
) -> None:
    assert poured(kind(typed(100)), after) == [("ask_again", {"grams": 100})]


def test_later_another_mass_or_scrap_is_logged() -> None:
    assert poured(cmd.AddWater(typed(100)), 8.1)[0] == ("water_in", {"grams": 100})
    assert poured(cmd.Scrap(typed(40)), 1.0) == [("scrap_in", {"grams": 40})]
    kitchen = mixing(1500, 100)
    assert kitchen.say(cmd.AddWater(typed(101)))[0] == ("water_in", {"grams": 101})
    # The flour of the opening is no pour.
    kitchen = mixing(200)
    assert kitchen.say(cmd.AddFlour(typed(200)))[0] == ("flour_in", {"grams": 200})


def test_yes_logs_it_again_and_no_does_not() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(cmd.AddWater(typed(150)))
    kitchen.say(NO)
    assert kitchen.batch.water_g == 150
    kitchen.say(cmd.AddWater(typed(150)))
    assert kitchen.say(YES)[0] == ("water_in", {"grams": 150})
    assert kitchen.batch.water_g == 300
    assert kitchen.say(cmd.Undo())[0] == ("undone_water", {"grams": 150})
    assert set(reasons(kitchen)) == {"same_pour"}
    kitchen.check()


def test_what_was_taken_back_or_corrected_is_not_the_same_pour() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(cmd.Undo())
    assert kitchen.keys(cmd.AddWater(typed(150)))[0] == "water_in"
    kitchen.say(cmd.MakeThat(typed(115)))
    assert kitchen.keys(cmd.AddWater(typed(150)))[0] == "water_in"
    assert reasons(kitchen) == []


def test_past_high_is_the_question_that_counts() -> None:
    kitchen = mixing(1500, 300)
    assert kitchen.keys(cmd.AddWater(typed(300))) == ["ask_past_high"]
    assert kitchen.keys(YES)[0] == "water_in"


def test_what_the_jug_reports_twice_was_poured_twice() -> None:
    kitchen = mixing(1500)
    for _ in range(2):
        kitchen.ask(Said(cmd.AddWater(typed(100)), "jug"))
    assert kitchen.batch.water_g == 200


# ---- ready far outside the marks


def far(pour: float) -> Kitchen:
    """A batch whose water is far outside low and high; what passes high was asked about."""
    kitchen = mixing(1500, pour)
    if kitchen.state.question is not None:
        kitchen.say(YES)
    kitchen.wait(30)
    return kitchen


@pytest.mark.parametrize(("pour", "pct"), [(0.0, 0.0), (419.0, 27.933), (526.0, 35.067)])
def test_ready_far_outside_the_marks_is_asked_about(pour: float, pct: float) -> None:
    # Two points outside 30 and 33 are 28 and 35 percent: 420 g and 525 g in 1500 g.
    kitchen = far(pour) if pour else mixing(1500)
    asked = {"hydration": pytest.approx(pct, abs=0.001), "low": 30.0, "high": 33.0}
    assert kitchen.say(READY) == [("ask_far_ready", asked)]
    assert kitchen.batch.crumb is None
    assert kitchen.say(NO) == [("not_logged", {})]
    kitchen.say(READY)
    assert kitchen.keys(YES) == ["crumb_ready_low" if pct < 30 else "crumb_ready"]
    assert kitchen.batch.crumb == "ready"
    assert kitchen.batch.squeezes == (("doubtful", kitchen.batch.hydration_pct),)
    kitchen.say(cmd.Undo())
    assert kitchen.batch.crumb is None
    assert not kitchen.batch.squeezes
    kitchen.check()


@pytest.mark.parametrize("pour", [420.0, 525.0])
def test_ready_not_so_far_outside_the_marks_is_logged(pour: float) -> None:
    kitchen = far(pour)
    assert kitchen.keys(READY)[0] in ("crumb_ready_low", "crumb_ready")
    assert kitchen.batch.squeezes[0][0] == "ready"


@pytest.mark.parametrize("verdict", ["dry", "wet"])
def test_dry_and_wet_are_believed_anywhere(verdict: cmd.Verdict) -> None:
    kitchen = mixing(1500, 100)
    kitchen.say(cmd.JudgeCrumb(verdict))
    assert kitchen.batch.squeezes == ((verdict, kitchen.batch.hydration_pct),)


def test_where_a_lots_own_batches_end_is_not_far() -> None:
    # Lot 7 ends near 30.0 percent, nine of ten between 29.2 and 30.8: at a target of 34 it is far outside.
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.SetLot("7"))
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.state = _with_low(kitchen, 33.0)
    kitchen.say(cmd.AddWater(typed(450)))
    assert kitchen.keys(READY) == ["crumb_ready_low"]
    kitchen.state = _with_low(kitchen, 33.0)
    kitchen.say(cmd.MakeThat(typed(430)))
    assert kitchen.keys(READY) == ["ask_far_ready"]


def _with_low(kitchen: Kitchen, low: float) -> State:
    return replace(kitchen.state, batch=replace(kitchen.batch, target_pct=34.0, low_pct=low, high_pct=36.0))


def test_badly_heard_it_is_one_question() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.keys(READY, unsure=True) == ["ask_far_ready"]
    assert kitchen.keys(YES) == ["crumb_ready_low"]
    assert reasons(kitchen) == ["far_from_marks"]


def test_extruding_under_low_keeps_its_caution() -> None:
    kitchen = mixing(1500, 435)
    assert kitchen.keys(READY) == ["crumb_ready_low"]
    assert kitchen.say(cmd.Extruding()) == [("extruding_low", {"hydration": pytest.approx(29), "low": 30})]
    assert not [event for event in kitchen.events if isinstance(event, ev.ExtrudingStarted) and event.early]


# ---- closing far outside the marks


def test_closing_far_outside_the_marks_is_asked_about() -> None:
    kitchen = mixing(1500, 330)
    asked = {"hydration": pytest.approx(22), "low": 30.0, "high": 33.0}
    assert kitchen.say(cmd.CloseBatch()) == [("ask_far_close", asked)]
    assert kitchen.say(NO) == [("not_logged", {})]
    kitchen.say(cmd.CloseBatch())
    assert kitchen.keys(YES) == ["batch_closed"]
    closed = kitchen.events[-1]
    assert isinstance(closed, ev.BatchClosed)
    assert closed.far
    assert kitchen.keys(cmd.Undo()) == ["undone_closing"]
    kitchen.check()


def test_one_yes_is_enough_for_the_figure_and_one_for_the_time() -> None:
    # Lot 12 ends near 31.8 percent: 22 percent is far from it, and from the marks.
    kitchen = Kitchen(known=REMEMBERS)
    kitchen.say(cmd.SetLot("12"))
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.say(cmd.AddWater(typed(330)))
    kitchen.say(cmd.JudgeCrumb("wet"))
    kitchen.say(cmd.Mix(60))
    assert kitchen.keys(cmd.CloseBatch()) == ["ask_time_running"]
    assert kitchen.keys(YES) == ["ask_far_close"]
    assert kitchen.keys(YES) == ["batch_closed"]


def test_a_batch_without_water_and_one_that_is_dropped_are_not_asked_about() -> None:
    assert mixing(1500).keys(cmd.CloseBatch()) == ["batch_closed_dry"]
    assert mixing(1500, 330).keys(cmd.DropBatch()) == ["batch_dropped"]

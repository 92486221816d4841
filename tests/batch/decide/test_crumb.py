"""The crumb: what each verdict asks for, top-ups of one percent, the early die, and the end of a batch."""

import pytest

from assistant.batch.record.commands import (
    AddFlour,
    AddWater,
    Answer,
    Ask,
    CloseBatch,
    Command,
    DropBatch,
    Extruding,
    GotIt,
    JudgeCrumb,
    Mix,
    NewDie,
    Portions,
    PourRest,
    Rest,
    SetTarget,
    TrayDone,
    Undo,
)
from assistant.batch.record.phases import Phase
from tests.batch.kitchen import Kitchen, at_target, mixing, typed

DRY, READY, WET = JudgeCrumb("dry"), JudgeCrumb("ready"), JudgeCrumb("wet")


def pour_and_mix(kitchen: Kitchen, water: float) -> None:
    kitchen.say(AddWater(typed(water)))
    kitchen.say(Mix())
    kitchen.wait(120)
    kitchen.say(GotIt())


def test_dry_at_the_first_look_pours_on_to_the_target() -> None:
    """Still crumbly at 70-75 % of the water: pour on (common practice, no source)."""
    kitchen = mixing(1500, 330)
    assert kitchen.say(DRY) == [("pour_on", {"grams": 135})]
    assert kitchen.say(Ask("next")) == [("next_pour", {"grams": 135})]


def test_dry_a_few_grams_before_the_first_look_pours_on_to_the_target() -> None:
    """Nobody pours five grams into two kilos to look again (common practice, no source)."""
    kitchen = mixing(1500, 326)
    assert kitchen.say(DRY) == [("pour_on", {"grams": 139})]


def test_dry_before_the_first_look_pours_on_to_it() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.say(DRY) == [("pour_on", {"grams": 180})]
    assert kitchen.say(Ask("next")) == [("next_first_pour", {"grams": 180})]


def test_dry_at_the_target_tops_up_by_one_percent_of_the_flour_and_stops_at_high() -> None:
    """2000 g: steps of 20 g (1 %: common practice, no source), 620 -> 640 -> 660 g, which is 33 %: high."""
    kitchen = at_target(2000)
    for water in (640, 660):
        assert kitchen.say(DRY) == [("top_up", {"grams": 20, "seconds": 30})]
        assert kitchen.say(Ask("next")) == [("next_pour", {"grams": 20})]
        kitchen.say(AddWater(typed(20)))
        assert kitchen.say(Ask("next")) == [("next_mix", {"seconds": 30})]
        assert kitchen.say(Mix()) == [("mixing_for", {"seconds": 30})]
        kitchen.wait(30)
        kitchen.say(GotIt())
        assert kitchen.batch.water_g == water
    assert kitchen.say(DRY) == [("dry_at_high", {"high": 33})]
    assert kitchen.say(Ask("next")) == [("dry_at_high", {"high": 33})]
    assert kitchen.keys(AddWater(typed(20))) == ["ask_past_high"]


def test_the_last_top_up_goes_just_to_high() -> None:
    kitchen = at_target(2000)
    pour_and_mix(kitchen, 25)
    assert kitchen.say(DRY) == [("top_up", {"grams": 15, "seconds": 30})]


def test_dry_past_high_asks_for_no_water() -> None:
    kitchen = at_target(2000)
    kitchen.say(AddWater(typed(60)))
    kitchen.say(Answer(yes=True))
    assert kitchen.say(DRY) == [("dry_at_high", {"high": 33})]
    assert kitchen.say(Ask("next")) == [("dry_at_high", {"high": 33})]


def test_wet_below_the_target_wants_time_not_flour() -> None:
    """Wait for the water to be taken up before changing anything (common practice, no source)."""
    kitchen = mixing(1500, 330)
    assert kitchen.say(WET) == [("wet_wait", {})]
    assert kitchen.say(Ask("next")) == [("wet_wait", {})]


def test_wet_at_the_target_wants_flour_and_then_no_water() -> None:
    """465 g of water are 30 % of 1550 g of flour."""
    kitchen = at_target(1500)
    assert kitchen.say(WET) == [("wet_flour", {"flour": 50, "hydration": 30})]
    assert kitchen.say(Ask("next")) == [("wet_flour", {"flour": 50, "hydration": 30})]
    assert kitchen.say(AddFlour(typed(50))) == [("flour_in", {"grams": 50}), ("mix_then_squeeze", {})]
    assert kitchen.say(Ask("next")) == [("next_mix", {"seconds": 60})]
    assert kitchen.say(Mix()) == [("mixing_for", {"seconds": 60})]
    kitchen.wait(60)
    kitchen.say(GotIt())
    assert kitchen.say(WET) == [("wet_wait", {})]
    assert kitchen.keys(AddFlour(typed(5))) == ["flour_in", "mix_then_squeeze"]
    kitchen.say(Undo())
    kitchen.say(Rest())
    kitchen.wait(90)
    assert kitchen.say(DRY) == [("pour_on", {"grams": 15.5})]


def test_wet_at_low_wants_no_flour_of_nothing() -> None:
    kitchen = mixing(1500)
    kitchen.say(SetTarget(30))
    kitchen.say(PourRest())
    assert kitchen.say(WET) == [("wet_wait", {})]


def test_wet_where_the_hopper_is_full() -> None:
    """2250 g at 31 % are 2947.5 g of dough; 75 g of flour make it 22.5 g too much.

    2947.5 x (1 - 3000 / 3022.5) = 21.9 g come out; what stays, 99.26 %, wants 74.4 g.
    """
    kitchen = at_target(2250)
    assert kitchen.say(WET) == [("wet_flour_over_hopper", {"flour": 75, "hydration": 30, "over": 22})]


def test_ready_says_the_hydration() -> None:
    kitchen = at_target(1500)
    assert kitchen.say(READY) == [("crumb_ready", {"hydration": 31})]
    assert kitchen.say(Ask("next")) == [("next_extrude", {})]
    assert kitchen.say(Extruding()) == [("extruding", {"hydration": 31}), ("trim_first", {})]
    assert kitchen.say(Ask("next")) == [("next_trim", {})]


def test_ready_below_low_is_told() -> None:
    assert mixing(1500, 420).say(READY) == [("crumb_ready_low", {"hydration": 28, "low": 30})]


@pytest.mark.parametrize("verdict", [DRY, READY, WET])
def test_a_verdict_ends_the_mix_and_its_undo_brings_it_back(verdict: JudgeCrumb) -> None:
    kitchen = mixing(1500, 430)
    kitchen.say(Mix())
    kitchen.wait(40)
    before = kitchen.state
    kitchen.say(verdict)
    assert kitchen.state.timers == ()
    assert kitchen.say(Undo()) == [("undone_crumb", {}), ("time_left", {"timer": "mix", "seconds": 80})]
    assert (kitchen.state.batch, kitchen.state.timers) == (before.batch, before.timers)


def test_a_verdict_taken_back_later_leaves_the_mix_that_rings() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix())
    kitchen.say(DRY)
    kitchen.say(Mix(20))
    kitchen.wait(20)
    before = kitchen.state
    assert kitchen.say(Undo()) == [("undone_crumb", {})]
    assert (kitchen.state.phase, kitchen.state.timers) == (Phase.SQUEEZING, before.timers)


def test_a_ring_that_a_verdict_silenced_does_not_come_back() -> None:
    kitchen = mixing(1500, 430)
    kitchen.say(Mix(20))
    kitchen.wait(20)
    kitchen.say(READY)
    assert kitchen.say(Undo()) == [("undone_crumb", {})]
    assert (kitchen.state.phase, kitchen.state.timers) == (Phase.SQUEEZING, ())


# ---- the die


@pytest.mark.parametrize("verdicts", [[], [DRY], [WET]], ids=["none", "dry", "wet"])
def test_extruding_early_is_a_caution_not_a_refusal(verdicts: list[Command]) -> None:
    """Dry flour packs in the die and stalls it (common practice, no source)."""
    kitchen = mixing(1500, 330)
    for verdict in verdicts:
        kitchen.say(verdict)
    assert kitchen.say(Extruding()) == [("extruding_early", {})]
    assert kitchen.state.phase is Phase.EXTRUDING


def test_extruding_flour_without_water() -> None:
    assert mixing(1500).say(Extruding()) == [("extruding_dry", {})]


def test_water_after_the_verdict_wants_a_new_one() -> None:
    kitchen = at_target(1500)
    kitchen.say(READY)
    kitchen.say(AddWater(typed(15)))
    assert kitchen.batch.crumb is None
    assert kitchen.say(Extruding()) == [("extruding_early", {})]


def test_extruding_ends_a_rest_and_its_undo_brings_it_back() -> None:
    kitchen = at_target(1500)
    kitchen.say(Rest(90))
    before = kitchen.state
    kitchen.say(Extruding())
    assert kitchen.state.timers == ()
    assert kitchen.say(Undo()) == [
        ("undone_other", {"what": "extruding"}),
        ("time_left", {"timer": "rest", "seconds": 90}),
    ]
    assert (kitchen.state.batch, kitchen.state.timers) == (before.batch, before.timers)


def test_die_trays_and_portions() -> None:
    kitchen = at_target(1500)
    assert kitchen.say(NewDie("large shells")) == [("die_named", {"die": "large shells"})]
    # Four hours from the water, which went in a minute ago: said down to five minutes.
    assert kitchen.say(TrayDone()) == [("tray_care", {"tray": 1, "celsius": 5.0, "seconds": 14100.0})]
    assert kitchen.say(TrayDone()) == [("tray_filled", {"tray": 2})]
    assert kitchen.say(Portions(8)) == [("portions_counted", {"count": 8, "total": 8})]
    assert kitchen.say(Portions(7)) == [("portions_counted", {"count": 7, "total": 15})]
    assert kitchen.say(Portions(0)) == [("amount_zero", {})]
    assert kitchen.say(Undo()) == [("undone_other", {"what": "portions"})]
    assert (kitchen.batch.trays, kitchen.batch.portions, kitchen.batch.die) == (2, 8, "large shells")


# ---- the end


def test_closing_says_the_account() -> None:
    assert at_target(1500).say(CloseBatch()) == [
        ("batch_closed", {"batch": 1, "flour": 1500, "water": 465, "hydration": 31})
    ]


def test_a_dropped_batch_can_be_had_back() -> None:
    kitchen = at_target(1500)
    before = kitchen.batch
    assert kitchen.say(DropBatch()) == [("batch_dropped", {"batch": 1})]
    assert kitchen.say(Undo()) == [("undone_closing", {"batch": 1})]
    assert kitchen.batch == before

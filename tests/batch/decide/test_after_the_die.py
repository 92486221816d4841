"""The die: warm or cold, changed in mid-batch; the cutter; the dough that is left."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record.commands import (
    Answer,
    Ask,
    Cutter,
    DieWarm,
    Extruding,
    GotIt,
    JudgeCrumb,
    NewDie,
    Portions,
    Rest,
    Scrap,
    StopTimer,
    Undo,
)
from assistant.batch.record.phases import Phase
from assistant.dough.cutter import speed_for
from assistant.errors import DoughError
from tests.batch.kitchen import Kitchen, at_target, typed


def extruding() -> Kitchen:
    kitchen = at_target(1500)
    kitchen.say(JudgeCrumb("ready"))
    kitchen.say(Extruding())
    return kitchen


def test_the_first_pasta_is_trimmed_until_the_die_is_called_warm() -> None:
    # Ridged and ragged until die and dough warm: common practice, no source.
    kitchen = extruding()
    assert kitchen.keys(Ask("next")) == ["next_trim"]
    assert kitchen.say(DieWarm()) == [("die_warm", {})]
    assert kitchen.keys(Ask("next")) == ["next_close"]
    assert kitchen.keys(Extruding()) == ["extruding"]
    kitchen.check()


def test_a_new_die_in_mid_batch_is_cold_and_the_account_stays() -> None:
    kitchen = extruding()
    kitchen.say(DieWarm())
    account = kitchen.batch.entries
    kitchen.say(NewDie("penne"))
    assert kitchen.keys(Extruding()) == ["extruding", "trim_first"]
    assert (kitchen.batch.entries, kitchen.batch.die) == (account, "penne")
    assert kitchen.keys(Undo()) == ["undone_other"]


def test_without_a_batch_there_is_no_die() -> None:
    assert Kitchen().say(DieWarm()) == [("no_batch", {})]


def test_what_was_not_heard_well_is_asked_about() -> None:
    kitchen = extruding()
    assert kitchen.keys(DieWarm(), unsure=True) == ["ask_unsure"]
    assert kitchen.keys(Answer(yes=True)) == ["die_warm"]


def test_dough_left_is_what_went_in_less_scrap_and_portions() -> None:
    # 1500 + 465 = 1965 g; less 40 g of scrap and 4 x 120 g: 1445 g, and 12 portions of 120 g in it.
    kitchen = extruding()
    kitchen.say(Scrap(typed(40)))
    kitchen.say(Portions(4))
    assert kitchen.say(Ask("dough")) == [("dough_left", {"grams": 1445, "portions": 12})]
    kitchen.say(Portions(40))
    kitchen.say(Answer(yes=True))
    assert kitchen.say(Ask("dough")) == [("dough_left", {"grams": 0, "portions": 0})]


def test_the_cutter_tells_the_speed_for_the_wanted_length() -> None:
    # Length times speed stays: 40 x 35 / 30 = 46.67 (derived by proportion).
    kitchen = Kitchen()
    assert kitchen.say(Cutter("length", 35)) == [("cutter_no_speed", {})]
    assert kitchen.say(Cutter("speed", 40)) == [("cutter_speed", {"speed": 40})]
    assert kitchen.say(Cutter("want", 30)) == [("cutter_no_length", {})]
    assert kitchen.say(Cutter("length", 35)) == [("cutter_length", {"length": 35, "speed": 40})]
    assert kitchen.say(Cutter("want", 30)) == [
        ("cutter_wanted", {"speed": pytest.approx(46.67, abs=0.01), "length": 30})
    ]
    assert kitchen.say(Cutter("want", 0)) == [("amount_zero", {})]
    kitchen.check()


@given(st.floats(1, 500), st.floats(1, 500), st.floats(1, 500))
def test_cutting_at_the_speed_that_was_told_gives_the_wanted_length(
    speed: float, length: float, wanted: float
) -> None:
    assert speed_for(speed_for(speed, length, wanted), wanted, length) == pytest.approx(speed)


def test_a_cutter_that_stands_still_is_refused() -> None:
    with pytest.raises(DoughError, match="speed 0"):
        speed_for(0, 35, 30)


def test_a_badly_heard_figure_of_the_cutter_is_asked_about_first() -> None:
    kitchen = Kitchen()
    assert kitchen.keys(Cutter("speed", 40), unsure=True) == ["ask_unsure"]
    kitchen.say(Answer(yes=False))
    assert kitchen.state.cutter is None
    kitchen.say(Cutter("speed", 40), unsure=True)
    assert kitchen.say(Answer(yes=True)) == [("cutter_speed", {"speed": 40})]
    kitchen.check()


def test_a_rest_beside_extruding_leaves_the_batch_at_the_die() -> None:
    kitchen = extruding()
    kitchen.say(DieWarm())
    kitchen.say(Rest(1200))
    for _ in range(2):
        assert kitchen.state.phase is Phase.EXTRUDING
        assert kitchen.keys(Ask("next"))[-1] == "next_close"
        assert kitchen.keys(Ask("help")) == ["help_extruding"]
        kitchen.wait(1200)  # it rings, and the batch is still where it was
    assert kitchen.keys(GotIt()) == ["got_it"]
    kitchen.say(Rest(60))
    assert kitchen.keys(StopTimer("rest")) == ["timer_stopped"]
    assert kitchen.state.phase is Phase.EXTRUDING
    kitchen.check()

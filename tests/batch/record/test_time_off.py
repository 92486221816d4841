"""The station was off for a time that nothing tells at the start: what it assumes, what is mended later."""

import pytest

from assistant.batch.decide.decide import ClockSet
from assistant.batch.record import commands as cmd
from assistant.batch.record.clocks.clock_events import TimeOffKnown
from assistant.batch.record.clocks.time_off import KnownTime
from assistant.batch.record.events import StationStarted
from tests.batch.kitchen import Kitchen, Spoken, mixing, typed

HOUR = 3600.0


def keys(said: list[Spoken]) -> list[str]:
    return [key for key, _ in said]


def with_a_tray() -> Kitchen:
    """A kitchen whose dough was wet at 0 and is on a tray."""
    k = mixing(1500, 465)
    k.say(cmd.TrayDone())
    return k


def cut(k: Kitchen, *, now: float = 5.0) -> list[Spoken]:
    return k.restart(certain=False, known=True, now=now)


def test_a_tray_may_be_over_and_rings_at_once_until_somebody_hears_it() -> None:
    k = with_a_tray()
    k.wait(HOUR)
    assert keys(cut(k)) == ["batch_resumed"], "the account first"
    assert k.wait(5) == [("tray_may_be_over", {"tray": 1, "batch": 1, "limit": 4 * HOUR})]
    assert keys(k.wait(60)) == ["tray_may_be_over"]
    assert keys(k.say(cmd.Ask("time"))) == ["tray_left_unsure"]
    assert keys(k.say(cmd.Ask("next"))) == ["tray_left_unsure"]
    assert keys(k.say(cmd.GotIt())) == ["tray_left_unsure"]
    assert keys(k.wait(HOUR)) == []
    k.check()


def test_one_that_nobody_reckons_with_rings_when_it_certainly_is_over() -> None:
    k = with_a_tray()
    k.wait(HOUR)
    cut(k)
    k.say(cmd.GotIt())
    assert keys(k.wait(2.5 * HOUR)) == ["tray_left_unsure"]
    assert keys(k.wait(0.5 * HOUR))[-1] == "tray_rings"
    assert keys(k.say(cmd.GotIt())) == ["got_it_tray"]
    assert k.state.timers == ()
    k.check()


def test_a_doubted_ring_becomes_a_certain_one_at_the_latest_moment() -> None:
    k = with_a_tray()
    k.wait(3.9 * HOUR)
    cut(k)
    assert "tray_rings" in keys(k.wait(0.2 * HOUR))
    assert keys(k.say(cmd.StopTimer())) == ["timer_stopped"]
    assert k.state.timers == ()


def test_trays_of_one_dough_ring_together_and_doughs_one_after_the_other() -> None:
    k = with_a_tray()
    k.say(cmd.TrayDone())
    k.say(cmd.CloseBatch())
    k.say(cmd.Answer(yes=True))
    k.say(cmd.NewBatch(typed(1000)))
    k.say(cmd.AddWater(typed(300)))
    k.say(cmd.TrayDone())
    assert keys(cut(k)) == ["batch_resumed"]
    assert k.wait(5) == [("trays_may_be_over", {"count": 2, "batch": 1, "limit": 4 * HOUR})]
    assert k.wait(5) == [("tray_may_be_over", {"tray": 1, "batch": 2, "limit": 4 * HOUR})]
    assert keys(k.say(cmd.GotIt(everything=True))) == ["got_it_all"]
    assert [timer.ringing for timer in k.state.timers] == [False] * 3
    k.check()


def test_the_clock_is_set_and_the_tray_rings_at_its_true_four_hours() -> None:
    k = with_a_tray()
    k.wait(HOUR)
    cut(k)
    k.wait(30)
    assert k.ask(ClockSet(2 * HOUR)) == [
        ("time_off_known", {"seconds": 2 * HOUR}),
        ("tray_left", {"tray": 1, "batch": 1, "seconds": HOUR - 30, "celsius": 5.0}),
    ]
    assert (k.batch.wet_at, k.batch.time_certain) == (5.0 - 3 * HOUR, True)
    assert k.state.time_off is None
    assert keys(k.wait(0.5 * HOUR - 31)) == []
    assert keys(k.wait(6)) == ["tray_warning", "clean_soon"]
    assert keys(k.wait(0.5 * HOUR - 6)) == []
    assert k.now == 5.0 + HOUR - 1
    assert keys(k.wait(1)) == ["tray_rings"]
    k.check()


def test_a_tray_that_was_over_in_the_dark_rings_as_soon_as_the_clock_is_set() -> None:
    k = with_a_tray()
    k.wait(2 * HOUR)
    cut(k)
    k.say(cmd.GotIt())
    assert k.ask(ClockSet(2.5 * HOUR)) == [("time_off_known", {"seconds": 2.5 * HOUR})]
    assert keys(k.wait(0)) == ["tray_rings"]
    k.check()


def test_what_began_after_the_start_is_not_moved() -> None:
    k = mixing(1500, 465)
    k.say(cmd.SetTimer("1", 3000))
    k.wait(600)
    cut(k)
    k.wait(20)
    k.say(cmd.SetTimer("2", 100))
    k.say(cmd.TrayDone())
    k.say(cmd.AddWater(typed(10)))
    k.ask(ClockSet(1000.0))
    due = {timer.name: timer.due for timer in k.state.timers}
    assert due == {"1": 3000 - 600 + 5 - 1000, "2": 125.0, "tray 1.1": 4 * HOUR - 600 + 5 - 1000}
    assert [entry.at for entry in k.batch.entries] == [-1595.0, -1595.0, 25.0]
    assert all(timer.certain for timer in k.state.timers)
    k.check()


def test_undo_over_it_brings_back_what_was_before() -> None:
    k = mixing(1500, 465)
    k.say(cmd.Mix(3000))
    k.say(cmd.JudgeCrumb("ready"))
    cut(k)
    k.ask(ClockSet(1000.0))
    assert k.say(cmd.Undo())[-1] == ("time_left", {"timer": "mix", "seconds": 2000})
    k.check()


def test_off_twice_what_lies_between_stays_uncertain() -> None:
    k = with_a_tray()
    k.wait(HOUR)
    cut(k, now=5)
    k.wait(100)
    k.say(cmd.SetTimer("1", 3000))
    k.restart(certain=False, now=7)
    k.wait(10)
    k.ask(ClockSet(2 * HOUR))
    tray, one = sorted(k.state.timers, key=lambda timer: timer.kind, reverse=True)
    assert (tray.certain, tray.due) == (True, 7 - 100 + 3 * HOUR - 2 * HOUR)
    assert (one.certain, one.due) == (False, 3007.0)
    assert not k.batch.time_certain
    k.check()


def test_a_station_that_was_restarted_meanwhile_still_learns_it() -> None:
    k = with_a_tray()
    k.wait(HOUR)
    cut(k)
    before = k.state.time_off
    k.restart(now=k.now)
    assert k.state.time_off == before
    k.ask(ClockSet(2 * HOUR))
    assert k.state.timers[0].due == 5 + HOUR


def test_a_start_of_an_older_journal_asks_for_nothing() -> None:
    k = with_a_tray()
    k.restart(certain=False)
    assert k.state.time_off is None
    assert k.ask(ClockSet(5.0)) == []


def test_nothing_is_said_where_it_concerns_nothing() -> None:
    k = Kitchen()
    k.say(cmd.Loudness(1))
    assert keys(cut(k)) == ["ready"]
    assert k.ask(ClockSet(7200.0)) == []
    assert isinstance(k.events[-1], TimeOffKnown)


def test_the_length_is_the_wall_time_that_no_station_time_stands_for() -> None:
    k = Kitchen()
    k.say(cmd.Loudness(1))
    k.restart(certain=False, known=True, now=12.0)
    assert k.events[-1] == StationStarted(at=12.0, shift=12.0, certain=False, known=KnownTime(12.0, 0.0))
    assert k.state.time_off is not None
    assert k.state.time_off.length_s(42.0, 7230.0) == pytest.approx(7200.0)

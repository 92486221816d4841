"""After "dry" the station pours on by the lot where that is well known, and what is left goes by that."""

from dataclasses import replace

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.rules import BatchRules
from assistant.dough.flour.staging import after_dry_pct
from assistant.dough.lots import Forecast
from tests.batch.kitchen import REMEMBERS, Kitchen, forecast, typed


def kitchen(likely: float, *, spread: float = 0.3, rules: BatchRules | None = None) -> Kitchen:
    """A batch of a lot that is known by nine batches, its first pour in."""
    lots: dict[str, Forecast] = {"12": forecast("12", 9, likely, spread)}
    known = replace(REMEMBERS, lots=lambda lot, _recipe, _humidity: lots.get(lot))
    k = Kitchen(rules or BatchRules(), known)
    k.say(cmd.SetLot("12"))
    k.say(cmd.NewBatch(typed(2000)))
    k.say(cmd.AddWater(typed(k.batch.to_first_pour_g)))
    return k


@pytest.mark.parametrize("likely", [29.0, 30.2, 31.6])
def test_it_says_what_the_deciding_function_says(likely: float) -> None:
    """The function that the benchmark measures: `tests.bench.flour_year`."""
    k = kitchen(likely)
    dry = k.batch.hydration_pct
    found = k.known.lots("12", None, None)
    aim = after_dry_pct(dry, found, target_pct=31, high_pct=33, step_pct=1, again=False)
    ((key, values),) = k.say(cmd.JudgeCrumb("dry"))
    assert key == "pour_on"
    assert values["grams"] == pytest.approx((aim - dry) * 20, abs=1)
    k.check()


def test_a_lot_that_wants_little_is_not_poured_to_the_target() -> None:
    k = kitchen(29.2)
    k.say(cmd.JudgeCrumb("dry"))
    grams = k.batch.left_g
    assert k.batch.hydration_pct + grams / 20 < 30
    assert k.say(cmd.Ask("next")) == [("next_pour", {"grams": grams})]
    assert k.say(cmd.Ask("left")) == [("left", {"grams": grams})]
    assert k.keys(cmd.AddWater(typed(5))) == ["water_in", "left"]
    assert k.say(cmd.PourRest()) == [("water_in", {"grams": grams - 5}), ("mix_then_squeeze", {})]
    assert k.keys(cmd.Ask("next")) == ["next_mix"]
    assert k.say(cmd.Mix()) == [("mixing_for", {"seconds": 60})], "the mix after the main pour"
    k.check()


def test_a_lot_that_wants_more_is_poured_past_the_target_without_a_complaint() -> None:
    k = kitchen(31.8)
    assert k.batch.hydration_pct == 31.0, "the first pour is never past the target"
    k.say(cmd.JudgeCrumb("dry"))
    assert k.batch.left_g > 10
    assert k.keys(cmd.PourRest()) == ["water_in", "mix_then_squeeze"]
    assert 32.0 < k.batch.hydration_pct <= 33.0


def test_the_second_time_it_is_a_step_with_its_short_mix() -> None:
    k = kitchen(31.0)
    k.say(cmd.JudgeCrumb("dry"))
    k.say(cmd.PourRest())
    ((key, values),) = k.say(cmd.JudgeCrumb("dry"))
    assert key == "top_up"
    assert 5 <= float(values["grams"]) <= 20
    assert values["seconds"] == 30
    k.say(cmd.PourRest())
    assert k.say(cmd.Mix()) == [("mixing_for", {"seconds": 30})]


def test_it_never_passes_high_and_says_so_there() -> None:
    k = kitchen(33.5)
    k.say(cmd.JudgeCrumb("dry"))
    k.say(cmd.PourRest())
    assert k.batch.hydration_pct == pytest.approx(33.0, abs=0.05)
    assert k.keys(cmd.JudgeCrumb("dry")) == ["dry_at_high"]


def test_more_than_was_asked_for_is_told_by_the_marks() -> None:
    k = kitchen(30.4)
    k.say(cmd.JudgeCrumb("dry"))
    k.say(cmd.AddWater(typed(k.batch.left_g)))
    more = k.batch.to_pour_g(31) + 10
    assert k.keys(cmd.AddWater(typed(more))) == ["water_in", "over_target", "mix_then_squeeze"]


def test_a_vague_lot_and_none_go_to_the_target() -> None:
    k = kitchen(30.2, spread=1.2)
    assert k.say(cmd.JudgeCrumb("dry"))[0][1]["grams"] == pytest.approx(620 - k.batch.water_g)
    plain = Kitchen()
    plain.say(cmd.NewBatch(typed(2000)))
    plain.say(cmd.AddWater(typed(450)))
    assert plain.say(cmd.JudgeCrumb("dry")) == [("pour_on", {"grams": 170})]
    (judged,) = [event for event in plain.events if isinstance(event, ev.CrumbJudged)]
    assert judged.pour_to_pct is None


def test_far_below_the_first_look_that_is_poured_first() -> None:
    k = kitchen(30.4)
    k.say(cmd.Undo())
    k.say(cmd.AddWater(typed(400)))
    assert k.say(cmd.JudgeCrumb("dry")) == [("pour_on", {"grams": k.batch.to_first_pour_g})]


@pytest.mark.parametrize(
    "then", [cmd.SetTarget(31.5), cmd.JudgeCrumb("ready"), cmd.JudgeCrumb("wet"), cmd.Undo()]
)
def test_a_target_and_a_verdict_take_its_place(then: cmd.Command) -> None:
    k = kitchen(30.2)
    k.say(cmd.JudgeCrumb("dry"))
    assert k.batch.pour_to_pct is not None
    k.say(then)
    assert k.batch.pour_to_pct is None
    k.check()


def test_another_lot_takes_it_back() -> None:
    k = kitchen(30.2)
    k.say(cmd.JudgeCrumb("dry"))
    k.say(cmd.SetLot("99"))
    k.say(cmd.Answer(yes=True))
    assert k.batch.lot == "99"
    assert k.batch.pour_to_pct is None


def test_flour_that_is_added_moves_what_is_asked_for() -> None:
    k = kitchen(30.2)
    k.say(cmd.JudgeCrumb("dry"))
    left, pct = k.batch.left_g, k.batch.pour_to_pct
    assert pct is not None
    k.say(cmd.AddFlour(typed(100)))
    assert k.batch.left_g == pytest.approx(left + pct)


def test_the_air_that_was_told_counts() -> None:
    asked = []

    def lots(lot: str, recipe: str | None, humidity: float | None) -> Forecast:
        asked.append((lot, recipe, humidity))
        return forecast("12", 9, 30.2, 0.3)

    k = Kitchen(known=replace(REMEMBERS, lots=lots))
    k.say(cmd.SetLot("12"))
    k.say(cmd.NewBatch(typed(2000)))
    k.say(cmd.TellCondition("humidity", 72))
    k.say(cmd.AddWater(typed(k.batch.to_first_pour_g)))
    k.say(cmd.JudgeCrumb("dry"))
    assert asked[-1] == ("12", None, 72)


def test_who_judges_is_kept_with_the_verdict() -> None:
    for name, kept in (("M", "M"), ("", None)):
        k = kitchen(30.2, rules=BatchRules(cook=name))
        k.say(cmd.JudgeCrumb("dry"))
        assert [one.cook for one in k.events if isinstance(one, ev.CrumbJudged)] == [kept]

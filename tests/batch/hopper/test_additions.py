"""Additions of a recipe count when they are in: asked for, answered, corrected, left out, taken back.

Water contents: USDA SR28, whole egg 76.15 % (NDB 01123), boiled spinach 91.21 % (NDB 11458).
"""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.batch import Standing
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules, Known
from assistant.dough.flour.staging import first_water_g
from assistant.dough.recipe import RecipePlan, Share
from assistant.journal.codec import event_text, read_event
from tests.batch.kitchen import PLANS, WALKS, Kitchen, grams, typed

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)
GREEN = RecipePlan(
    "green", 31.0, 30.0, 33.0, (Share("whole egg", 10.0, 76.15), Share("spinach boiled", 10.0, 91.21))
)
KNOWN = Known(recipes={**PLANS, "green": GREEN}, walks=WALKS)


def opened(recipe: str = "egg", flour: float = 1000) -> Kitchen:
    """A batch by a recipe, its first addition just asked for."""
    kitchen = Kitchen(known=KNOWN)
    kitchen.say(cmd.UseRecipe(recipe))
    kitchen.say(cmd.NewBatch(typed(flour)))
    return kitchen


# ---- in, one by one


def test_the_account_begins_at_zero_and_the_egg_counts_when_it_is_in() -> None:
    """Trade's case 32: 200 g of egg in 1,000 g at 31 % leave 157.70 g to pour; dough 1,357.7 g."""
    k = opened()
    assert (k.batch.water_g, k.batch.product_g) == (0, 1000)
    assert k.batch.to_target_g == 310, "what the account lacks"
    assert k.batch.to_pour_g(31) == pytest.approx(157.70), "what is left for the jug"
    assert k.say(YES) == [
        ("addition_in", {"grams": 200, "ingredient": "whole egg"}),
        # 72 % of 310 g are 223.2, down to 220; less the egg's 152.3 g that is 67.7, down to 65.
        ("first_pour", {"grams": 65}),
    ]
    assert k.batch.water_g == pytest.approx(152.30)
    k.say(cmd.PourRest())
    assert k.batch.poured_g == pytest.approx(157.70)
    assert k.batch.hydration_pct == pytest.approx(31)
    assert k.batch.product_g == pytest.approx(1357.7)
    k.check()


def test_a_bare_amount_says_how_much_is_in() -> None:
    k = opened()
    assert k.say(cmd.GivenAmount(grams(180)))[0] == (
        "addition_in",
        {"grams": 180, "ingredient": "whole egg"},
    )
    # 180 g of egg bring 137.07 g.
    assert k.batch.to_pour_g(31) == pytest.approx(310 - 137.07)
    k.check()


def test_a_no_says_the_next_step_and_silence_says_nothing() -> None:
    k = opened()
    assert k.say(NO) == [("addition_not_in", {}), ("next_first_pour", {"grams": 65})]
    assert k.keys(cmd.Ask("next")) == ["ask_addition"]
    assert k.wait(11) == []
    assert k.state.question is None
    assert k.keys(cmd.Ask("where"))[-1] == "ask_addition"
    assert k.keys(YES)[0] == "addition_in"
    assert "ask_addition" not in k.keys(cmd.Ask("where"))
    k.check()


def test_what_next_beside_the_open_question_asks_it_again() -> None:
    k = opened()
    asked = k.state.question
    assert k.keys(cmd.Ask("next")) == ["ask_addition"]
    assert k.state.question == asked
    assert k.keys(YES)[0] == "addition_in"


def test_it_can_be_said_unasked_by_a_part_of_its_name() -> None:
    k = opened()
    k.wait(60)
    assert k.keys(cmd.AddAddition("egg"))[0] == "addition_in"
    assert k.batch.additions[0].grams == 200
    assert k.say(cmd.AddAddition("egg")) == [("ask_in_already", {"grams": 200, "ingredient": "whole egg"})]
    assert k.keys(NO) == ["not_logged"]
    k.say(cmd.AddAddition("egg", typed(20)))
    assert k.keys(YES)[0] == "addition_in"
    assert [one.grams for one in k.batch.additions] == [200, 20]
    k.check()


def test_what_the_recipe_has_not_is_told_and_talk_is_left_alone() -> None:
    k = opened()
    assert k.say(cmd.AddAddition("spinach")) == [("addition_unknown", {"ingredient": "spinach"})]
    plain = Kitchen(known=KNOWN)
    plain.say(cmd.NewBatch(typed(1000)))
    assert plain.keys(cmd.AddAddition("egg")) == [], '"again" sounds like it'
    assert plain.batch.water_g == 0


def test_every_addition_is_a_step_of_its_own() -> None:
    """1,000 g with 100 g of egg (76.15 g of water) and 100 g of spinach (91.21 g): 142.64 g to pour."""
    k = opened("green")
    assert k.keys(YES) == ["addition_in", "ask_addition"]
    assert k.batch.water_g == pytest.approx(76.15)
    assert k.batch.to_pour_g(31) == pytest.approx(142.64)
    assert k.keys(YES) == ["addition_in", "first_pour"]
    assert k.batch.water_g == pytest.approx(76.15 + 91.21)
    assert k.batch.to_pour_g(31) == pytest.approx(142.64)
    k.check()


# ---- pours before it


def test_a_pour_that_comes_first_leaves_room_for_the_egg() -> None:
    k = opened()
    assert k.say(cmd.AddWater(typed(70))) == [
        ("water_in", {"grams": 70}),
        ("left", {"grams": pytest.approx(87.70)}),
        ("ask_addition", {"grams": 200, "ingredient": "whole egg"}),
    ]
    assert k.keys(YES) == ["addition_in", "left", "mix_then_squeeze"]
    assert k.batch.hydration_pct == pytest.approx(22.23)
    k.check()


def test_a_pour_that_passes_high_once_the_egg_is_in_is_asked_about() -> None:
    """33 % of 1,000 g less 152.30 g leave 177.70 g: 200 g are 22.3 g too much."""
    k = opened()
    assert k.say(cmd.AddWater(typed(200))) == [
        ("ask_past_high", {"grams": 200, "over": pytest.approx(22.30)})
    ]
    k.say(NO)
    k.say(cmd.PourRest())
    assert k.batch.poured_g == pytest.approx(157.70)
    assert k.batch.standing is Standing.ON_TARGET
    k.check()


def test_more_egg_than_the_dough_takes_is_asked_about() -> None:
    """Trade's case 34: 600 g of egg bring 456.9 g to 1,000 g of flour, 126.9 g past high."""
    k = opened()
    k.wait(30)
    assert k.say(cmd.AddAddition("egg", typed(600))) == [
        ("ask_past_high", {"grams": 600, "over": pytest.approx(126.90)})
    ]
    k.say(YES)
    # 456.9 g are 33 % of 1384.5 g.
    assert k.heard[-1].values["flour"] == 385
    k.check()


@given(
    st.floats(100, 2500),
    st.floats(20, 50),
    st.lists(st.tuples(st.floats(0.5, 20), st.floats(0, 95)), min_size=1, max_size=3),
    st.permutations(range(4)),
)
def test_in_whatever_order_the_first_pour_is_never_past_its_share(
    flour: float, target: float, shares: list[tuple[float, float]], order: list[int]
) -> None:
    """With all additions in, water is at the first look's share at most, if they alone leave room for it."""
    brought = sum(per_100 * pct / 100 for per_100, pct in shares)
    plan = RecipePlan(
        "any",
        target,
        target - 1,
        target + 2,
        tuple(Share(f"thing {n}", per_100, pct) for n, (per_100, pct) in enumerate(shares)),
    )
    k = Kitchen(BatchRules(hopper_g=20_000), Known(recipes={"any": plan}))
    k.say(cmd.UseRecipe("any"))
    k.say(cmd.NewBatch(typed(flour)))
    for step in order:
        if step == 3:
            pour = k.batch.to_first_pour_g
            if pour > 0.5:
                k.say(cmd.AddWater(typed(pour)))
        elif step < len(shares):
            k.say(cmd.AddAddition(f"thing {step}"))
    share = first_water_g(flour, target, BatchRules().first_pour_share)
    assert k.batch.water_g <= max(share, flour * brought / 100) + 0.5
    assert not k.batch.to_come
    k.check()


# ---- mixing, squeezing, closing before it is told


def test_mixing_asks_for_it_once_more() -> None:
    k = opened()
    k.wait(60)
    assert k.keys(cmd.Mix()) == ["mixing_for", "ask_addition"]
    k.say(YES)
    k.say(cmd.Undo())
    k.say(cmd.Undo())
    assert k.batch.water_g == 0
    k.check()


@pytest.mark.parametrize(("answer", "hydration"), [(YES, 22.23), (NO, 7.0), (None, 7.0)])
def test_a_verdict_waits_for_the_answer_and_is_never_lost(
    answer: cmd.Command | None, hydration: float
) -> None:
    k = opened()
    k.say(cmd.AddWater(typed(70)))
    k.wait(60)
    assert k.keys(cmd.JudgeCrumb("dry")) == ["ask_addition"]
    assert not k.batch.squeezes
    if answer is None:
        k.wait(10)
    else:
        k.say(answer)
    assert [(verdict, round(found, 2)) for verdict, found in k.batch.squeezes] == [("dry", hydration)]
    assert k.state.question is None
    k.check()


def test_another_command_carries_the_verdict_out_first() -> None:
    k = opened()
    k.wait(60)
    k.say(cmd.JudgeCrumb("dry"))
    assert k.keys(cmd.AddWater(typed(50))) == ["water_in", "left"], "what the verdict asked for is done with"
    assert list(k.batch.squeezes) == [("dry", 0.0)]
    assert k.batch.poured_g == 50
    k.say(cmd.JudgeCrumb("ready"))
    k.say(cmd.JudgeCrumb("wet"))
    k.wait(10)
    assert [verdict for verdict, _ in k.batch.squeezes] == ["dry", "wet"], "a verdict takes the other's place"
    k.check()


def test_the_addition_said_in_other_words_goes_before_the_verdict() -> None:
    k = opened()
    k.say(cmd.AddWater(typed(70)))
    k.wait(60)
    k.say(cmd.JudgeCrumb("dry"))
    k.say(cmd.AddAddition("egg", typed(180)))
    assert [(verdict, round(found, 3)) for verdict, found in k.batch.squeezes] == [("dry", 20.707)]
    k.check()


def test_closing_asks_for_it_and_then_for_what_is_far_off() -> None:
    k = opened()
    k.say(cmd.AddWater(typed(100)))
    k.wait(60)
    assert k.keys(cmd.CloseBatch()) == ["ask_addition"]
    assert k.wait(10) == [("lapsed", {})], "silence ends no batch"
    k.say(cmd.CloseBatch())
    assert k.say(NO) == [("ask_far_close", {"hydration": 10, "low": 30, "high": 33})]
    assert k.keys(NO) == ["not_logged"]
    k.say(cmd.CloseBatch())
    assert k.keys(cmd.Mix())[:2] == ["not_logged", "mixing_for"], "nor does another command"
    k.say(cmd.Undo())
    assert k.keys(cmd.CloseBatch()) == ["ask_addition"]
    assert k.keys(YES) == ["addition_in", "ask_far_close"]
    assert k.keys(YES) == ["batch_closed"]
    k.check()


@pytest.mark.parametrize("egg_is_in", [True, False])
def test_ready_without_the_egg_is_asked_about_once(egg_is_in: bool) -> None:
    """157.70 g poured are 15.8 % until the egg has brought its 152.30 g, and 31 % with it."""
    k = opened()
    k.say(cmd.PourRest())
    k.wait(60)
    assert k.keys(cmd.JudgeCrumb("ready")) == ["ask_addition"]
    if egg_is_in:
        assert k.keys(YES) == ["addition_in", "crumb_ready"]
    else:
        assert k.keys(NO) == ["ask_far_ready"]
        assert k.keys(YES) == ["crumb_ready_low"], "the egg is not asked about again"
    assert [(one.verdict, one.far) for one in k.events if isinstance(one, ev.CrumbJudged)] == [
        ("ready", not egg_is_in)
    ]
    k.check()


def test_ready_far_off_is_not_asked_about_into_silence() -> None:
    k = opened()
    k.wait(60)
    k.say(cmd.JudgeCrumb("ready"))
    assert k.wait(10) == [("lapsed", {})]
    assert k.state.question is None
    assert not k.batch.squeezes
    k.say(cmd.JudgeCrumb("ready"))
    assert k.keys(cmd.AddWater(typed(50))) == ["not_logged", "water_in", "left"]
    assert not k.batch.squeezes
    k.check()


def test_a_verdict_heard_badly_is_asked_about_before_the_egg() -> None:
    k = opened()
    k.say(cmd.PourRest())
    k.wait(60)
    assert k.keys(cmd.JudgeCrumb("ready"), unsure=True) == ["ask_unsure"]
    assert k.keys(YES) == ["ask_addition"]
    assert k.keys(YES) == ["addition_in", "crumb_ready"]
    k.check()


def test_a_power_cut_forgets_the_question_and_says_what_was_not_logged() -> None:
    k = opened()
    k.wait(60)
    k.say(cmd.JudgeCrumb("dry"))
    said = k.restart(off=5)
    assert said[0] == ("lapsed", {})
    assert k.batch.squeezes == ()
    k.check()


# ---- corrections, undo, leaving out


def test_it_is_corrected_and_taken_back() -> None:
    k = opened()
    k.say(YES)
    assert k.keys(cmd.MakeThat(typed(180)))[0] == "corrected"
    assert k.batch.water_g == pytest.approx(137.07)
    k.say(cmd.Undo())
    assert k.batch.water_g == pytest.approx(152.30)
    assert k.say(cmd.Undo())[0] == ("undone_addition", {"grams": 200})
    assert k.batch.water_g == 0
    assert k.batch.to_come[0].grams == 200
    k.check()


def test_right_after_it_a_bare_amount_corrects_it() -> None:
    k = opened()
    k.say(YES)
    assert k.keys(cmd.GivenAmount(grams(180)))[0] == "corrected"
    assert k.batch.water_g == pytest.approx(137.07)


@pytest.mark.parametrize(
    ("amount", "flour", "egg"), [(1100, 1100, None), (900, 900, None), (240, 1000, 240), (150, 1000, 150)]
)
@pytest.mark.parametrize("said", [cmd.GivenAmount, cmd.MakeThat])
def test_an_amount_at_the_opening_means_what_it_is_nearer_to(
    said: type[cmd.GivenAmount] | type[cmd.MakeThat], amount: float, flour: float, egg: float | None
) -> None:
    k = opened()
    k.say(said(typed(amount)))
    assert k.batch.flour_g == flour
    assert [one.grams for one in k.batch.additions] == ([] if egg is None else [egg])
    k.check()


def test_an_amount_never_corrects_what_is_no_amount() -> None:
    """Portions were read back since the water that it is nearer to."""
    k = opened(flour=2000)
    k.say(NO)
    k.say(cmd.AddWater(typed(180)))
    k.say(cmd.Portions(2))
    assert k.keys(cmd.Ask("next")) == ["ask_addition"]
    assert k.keys(cmd.GivenAmount(typed(170)))[0] == "addition_in"
    assert [one.grams for one in k.batch.additions] == [170]


def test_undo_takes_back_the_verdict_that_waits() -> None:
    k = opened()
    k.say(cmd.AddWater(typed(70)))
    k.wait(60)
    k.say(cmd.JudgeCrumb("dry"))
    assert k.keys(cmd.Undo()) == ["not_logged"]
    assert not k.batch.squeezes
    assert k.batch.poured_g == 70
    k.check()


def test_undo_beside_the_question_takes_back_what_was_before() -> None:
    k = opened()
    assert k.keys(cmd.Undo()) == ["undone_opening"]
    assert k.state.batch is None
    k.check()


def test_left_out_it_is_waited_for_no_more_and_its_water_is_poured() -> None:
    k = opened()
    assert k.say(cmd.LeaveOut("egg")) == [
        ("addition_left_out", {"ingredient": "whole egg"}),
        ("first_pour", {"grams": pytest.approx(220)}),
    ]
    assert k.batch.to_pour_g(31) == 310
    assert k.say(cmd.LeaveOut("egg")) == [("addition_settled", {"ingredient": "whole egg"})]
    assert k.say(cmd.Undo())[0] == ("undone_other", {"what": "left_out"})
    assert k.batch.to_come[0].name == "whole egg"
    k.say(cmd.LeaveOut("egg"))
    assert k.keys(cmd.AddAddition("egg"))[0] == "addition_in", "it comes after all"
    k.check()


def test_without_a_batch_leaving_it_out_is_talk() -> None:
    k = Kitchen(known=KNOWN)
    assert k.say(cmd.LeaveOut("egg")) == []
    assert k.keys(cmd.AddAddition("egg")) == ["no_batch"]


def test_heard_badly_it_is_asked_about() -> None:
    k = opened()
    k.wait(60)
    assert k.say(cmd.AddAddition("egg"), unsure=True) == [
        ("ask_addition", {"grams": 200, "ingredient": "whole egg"})
    ]
    assert k.batch.water_g == 0
    assert k.keys(YES)[0] == "addition_in"
    assert k.keys(YES) == []


def test_dough_that_is_taken_out_before_takes_its_part_of_what_is_to_come() -> None:
    k = opened()
    k.say(cmd.AddWater(typed(150)))
    k.say(cmd.Mix())
    k.say(cmd.TookOut(typed(115)))
    # A tenth of the 1,150 g in the hopper: nine tenths of the egg are left to add.
    assert k.batch.to_come[0].grams == pytest.approx(180)
    k.check()


# ---- the journal


def test_an_opening_without_the_field_counts_its_additions_from_there() -> None:
    """What release 0.1.0 wrote has no `additions_told`."""
    k = opened()
    event = next(one for one in k.events if isinstance(one, ev.BatchOpened))
    name, text = event_text(event)
    fields = msgspec.json.decode(text)
    assert fields.pop("additions_told") is True
    old = read_event(1, name, msgspec.json.encode(fields))
    k = Kitchen(known=KNOWN)
    k.state = evolve(k.state, old)
    assert k.batch.water_g == pytest.approx(152.30)
    assert k.batch.product_g == 1200
    assert k.batch.to_come == ()
    assert [one.grams for one in k.batch.additions] == [200]
    assert k.keys(cmd.Ask("next")) == ["next_first_pour"]
    k.say(cmd.PourRest())
    assert k.batch.hydration_pct == pytest.approx(31)
    assert k.keys(cmd.JudgeCrumb("ready")) == ["crumb_ready"]


@pytest.mark.parametrize("recipe", [None, "bare"])
def test_a_batch_without_additions_says_nothing_of_them(recipe: str | None) -> None:
    k = Kitchen(known=Known(recipes={"bare": RecipePlan("bare", 31.0, 30.0, 33.0)}))
    if recipe:
        k.say(cmd.UseRecipe(recipe))
    k.say(cmd.NewBatch(typed(1000)))
    assert [event.additions_told for event in k.events if isinstance(event, ev.BatchOpened)] == [False]

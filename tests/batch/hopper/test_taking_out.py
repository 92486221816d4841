"""What is taken out of the hopper takes flour and water with it in the shares that they are in."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.hopper.entries import Entry, EntryKind, contents_of
from assistant.dough.ingredients import Addition
from tests.batch.kitchen import REMEMBERS, Kitchen, at_target, grams, mixing, typed

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)


def test_mixed_dough_takes_flour_and_water_in_their_shares() -> None:
    """300 g of 1,965 g: 1500 x 1665 / 1965 = 1270.99 g of flour and 394.01 g of water stay (mass balance)."""
    k = at_target(1500)
    assert k.say(cmd.TookOut(typed(300))) == [("taken_out", {"grams": 300, "what": "dough"})]
    assert k.batch.flour_g == pytest.approx(1270.99, abs=0.01)
    assert k.batch.water_g == pytest.approx(394.01, abs=0.01)
    assert k.batch.product_g == pytest.approx(1665)
    assert k.batch.hydration_pct == pytest.approx(31)
    assert k.batch.to_target_g == pytest.approx(0, abs=1e-9)
    # The next top-up follows the flour that is left: 1 % of 1270.99 g.
    assert k.say(cmd.JudgeCrumb("dry"))[0] == ("top_up", {"grams": 12, "seconds": 30})
    k.check()


def test_short_of_the_target_it_says_what_is_left_now() -> None:
    """1,000 g with 200 g: 120 g out leave 90 %, 900 g with 180 g, and 99 g to 279 g."""
    k = mixing(1000, 200)
    k.say(cmd.Mix())
    assert k.say(cmd.TookOut(typed(120))) == [
        ("taken_out", {"grams": 120, "what": "dough"}),
        ("left", {"grams": pytest.approx(99)}),
    ]
    k.check()


def test_past_high_it_says_the_smaller_rescue() -> None:
    """1,000 g with 345 g want 46 g to high (345 / 0.33 = 1045.5); with a tenth out 41 g do."""
    k = mixing(1000)
    k.say(cmd.AddWater(typed(345)))
    k.say(YES)
    k.say(cmd.Mix())
    said = k.say(cmd.TookOut(typed(134.5)))
    assert said[1:] == [("rescue_fits", {"grams": pytest.approx(13.5), "flour": 41})]
    k.check()


def test_scrap_leaves_the_account_alone() -> None:
    k = at_target(1500)
    k.say(cmd.Scrap(typed(300)))
    assert (k.batch.flour_g, k.batch.water_g) == (1500, 465)


def test_it_is_corrected_and_taken_back() -> None:
    k = at_target(1500)
    k.say(cmd.TookOut(typed(300)))
    assert k.keys(cmd.MakeThat(typed(393))) == ["corrected"]
    assert k.batch.flour_g == pytest.approx(1200)
    assert k.batch.water_g == pytest.approx(372)
    k.say(cmd.Undo())
    assert k.say(cmd.Undo())[0] == ("undone_taken_out", {"grams": 300})
    assert (k.batch.flour_g, k.batch.water_g) == (1500, 465)
    k.check()


def test_without_water_it_is_flour() -> None:
    k = mixing(1500)
    assert k.say(cmd.TookOut(typed(300)))[0] == ("taken_out", {"grams": 300, "what": "flour"})
    assert (k.batch.flour_g, k.batch.water_g) == (1200, 0)
    assert k.batch.to_target_g == pytest.approx(372)
    k.check()


def test_what_was_never_mixed_is_asked_about() -> None:
    k = mixing(1500, 330)
    assert k.say(cmd.TookOut(typed(300))) == [("ask_mixed", {"grams": 300})]
    assert k.keys(NO) == ["taken_out_of_what"]
    assert k.batch.product_g == 1830
    k.say(cmd.TookOut(typed(300)))
    assert k.keys(YES) == ["taken_out", "left"]
    assert k.batch.flour_g == pytest.approx(1500 * 1530 / 1830)
    k.check()


@pytest.mark.parametrize(
    ("what", "flour", "water"), [("flour", 1200, 330), ("water", 1500, 30), ("dough", 1254.1, 275.9)]
)
def test_said_outright_it_is_taken_as_said(what: cmd.TakenOutOf, flour: float, water: float) -> None:
    k = mixing(1500, 330)
    k.say(cmd.TookOut(typed(300), what))
    assert k.batch.flour_g == pytest.approx(flour, abs=0.05)
    assert k.batch.water_g == pytest.approx(water, abs=0.05)
    k.check()


@pytest.mark.parametrize(
    ("command", "most"),
    [
        # A batch keeps 100 g of flour: 1400 / 1500 of 1,830 g.
        (cmd.TookOut(typed(1800), "dough"), 1708),
        (cmd.TookOut(typed(1450), "flour"), 1400),
        (cmd.TookOut(typed(331), "water"), 330),
    ],
)
def test_more_than_is_in_is_told(command: cmd.TookOut, most: float) -> None:
    k = mixing(1500, 330)
    assert k.say(command) == [("taken_too_much", {"grams": command.amount.value, "most": most})]
    assert k.keys(cmd.TookOut(typed(0))) == ["amount_zero"]
    k.say(cmd.TookOut(typed(100), command.what))
    assert k.keys(cmd.MakeThat(command.amount)) == ["taken_too_much"]
    k.check()


def test_its_number_has_a_twin_and_badly_heard_it_is_asked_about() -> None:
    k = at_target(1500)
    assert k.keys(cmd.TookOut(grams(50)), near=True) == ["ask_twin"]
    k.say(NO)
    assert k.keys(cmd.TookOut(grams(300)), unsure=True) == ["ask_unsure_amount"]
    assert k.keys(YES) == ["taken_out"]
    assert k.batch.product_g == pytest.approx(1665)


def test_a_ready_crumb_stays_ready() -> None:
    k = at_target(1500)
    k.say(cmd.JudgeCrumb("ready"))
    k.say(cmd.TookOut(typed(300)))
    assert k.batch.crumb == "ready"
    assert k.keys(cmd.Extruding()) == ["extruding", "trim_first"]


def test_without_its_number_it_asks_and_takes_the_bare_amount() -> None:
    k = at_target(1500)
    assert k.keys(cmd.Incomplete("took_out", "number")) == ["number_missing"]
    assert k.keys(cmd.GivenAmount(grams(300))) == ["taken_out"]
    assert k.keys(cmd.GivenAmount(grams(290))) == ["corrected"]
    assert k.batch.product_g == pytest.approx(1675)


def test_an_old_batch_with_a_recipe_loses_its_additions_in_their_share_too() -> None:
    """As 0.1.0 opened it: 1,000 g of flour, 200 g of egg (SR28 NDB 01123) in from the start."""
    k = Kitchen(known=REMEMBERS)
    k.say(cmd.UseRecipe("egg"))
    k.say(cmd.NewBatch(typed(1000)))
    opening = next(one for one in k.events if isinstance(one, ev.BatchOpened))
    egg = opening.plan.additions(1000) if opening.plan else ()
    flour = Entry(1, "flour", 1000, "voice", 0.0)
    held = contents_of([flour, Entry(2, "dough_out", 120, "voice", 0.0)], egg)
    assert held.flour_g == pytest.approx(900)
    assert held.carried_g == pytest.approx(0.9 * 152.30)
    assert held.dry_g == pytest.approx(0.9 * 47.70)
    assert held.out_g == 120
    assert held.flour_out_g == pytest.approx(100)


kinds: st.SearchStrategy[EntryKind] = st.sampled_from(["water", "flour", "addition", "dough_out"])


@given(st.lists(st.tuples(kinds, st.floats(1, 400)), max_size=12))
def test_mass_is_kept_and_dough_out_moves_no_share(steps: list[tuple[EntryKind, float]]) -> None:
    """What went in is in or out; taking dough out changes neither hydration nor the additions' share."""
    entries = [Entry(1, "flour", 1000, "voice", 0.0)]
    went_in, out = 1000.0, 0.0
    for number, (kind, wanted) in enumerate(steps, 2):
        before = contents_of(entries)
        mass = min(wanted, before.most_out_g(kind, 100.0)) if kind == "dough_out" else wanted
        if kind == "dough_out":
            out += mass
        else:
            went_in += mass
        entries.append(Entry(number, kind, mass, "voice", 0.0, name="egg", water_pct=76.15))
        after = contents_of(entries)
        if kind == "dough_out":
            assert after.water_g / after.flour_g == pytest.approx(before.water_g / before.flour_g)
            assert after.dry_g / after.flour_g == pytest.approx(before.dry_g / before.flour_g)
            assert after.flour_g >= 100.0 - 1e-6
    held = contents_of(entries, ())
    assert held.product_g + out == pytest.approx(went_in)
    assert held.out_g == pytest.approx(out)


def test_additions_at_the_opening_are_split_into_water_and_the_rest() -> None:
    held = contents_of([Entry(1, "flour", 1000, "voice", 0.0)], [Addition("whole egg", 200, 76.15)])
    assert held.carried_g == pytest.approx(152.30)
    assert held.dry_g == pytest.approx(47.70)
    assert held.product_g == pytest.approx(1200)

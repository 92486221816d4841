"""The account: staged pours, read-back, corrections, taking back, marks, hopper.

Every answer whole, in order.
"""

import pytest

from assistant.batch.decide.decide import Said
from assistant.batch.record.commands import (
    AddFlour,
    AddWater,
    Answer,
    Ask,
    CloseBatch,
    DropBatch,
    GotIt,
    JudgeCrumb,
    MakeThat,
    Mix,
    NewBatch,
    NewDie,
    Portions,
    PourRest,
    Rest,
    Scrap,
    SetLot,
    SetTarget,
    TookOut,
    TrayDone,
    Undo,
)
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.dough.amounts import Amount
from tests.batch.kitchen import Kitchen, grams, mixing, typed

ANSWER_YES = Answer(yes=True)


def test_opening_tells_the_water_and_the_first_pour() -> None:
    """1500 g at 31 % takes 465 g (baker's percent); 72 % of it, down to 5 g, is 330 g.

    Some 70-75 % of the water before the first look: common practice, no source.
    """
    assert Kitchen().say(NewBatch(grams(1500))) == [
        ("batch_opened", {"batch": 1, "flour": 1500, "water": 465, "target": 31}),
        ("first_pour", {"grams": 330}),
    ]


def test_read_back_one_fifty_in_three_fifteen_left() -> None:
    kitchen = mixing(1500)
    assert kitchen.say(AddWater(grams(150))) == [("water_in", {"grams": 150}), ("left", {"grams": 315})]
    assert kitchen.batch.hydration_pct == pytest.approx(10)


def test_staged_pour_calls_the_first_look_once() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.keys(AddWater(typed(175))) == ["water_in", "left"]
    assert kitchen.say(AddWater(typed(5))) == [
        ("water_in", {"grams": 5}),
        ("left", {"grams": 135}),
        ("mix_then_squeeze", {}),
    ]
    assert kitchen.keys(AddWater(typed(35))) == ["water_in", "left"]
    assert kitchen.say(PourRest()) == [
        ("water_in", {"grams": 100}),
        ("on_target_mix", {}),
    ]
    assert kitchen.say(PourRest()) == [("nothing_left_to_pour", {})]


def test_water_while_the_mixer_runs_sends_nobody_to_mix() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix())
    assert kitchen.say(PourRest()) == [("water_in", {"grams": 135}), ("on_target", {})]
    assert kitchen.state.phase is Phase.MIXING


def test_water_into_a_rest_wants_a_mix() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Rest(90))
    assert kitchen.keys(PourRest()) == ["water_in", "on_target_mix"]


def test_flour_after_a_look_says_no_first_pour() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(JudgeCrumb("dry"))
    assert kitchen.say(AddFlour(typed(100))) == [("flour_in", {"grams": 100}), ("left", {"grams": 346})]


@pytest.mark.parametrize(
    ("water", "said"),
    [
        (449, [("left", {"grams": 16})]),
        (450, [("left", {"grams": 15})]),
        (464.4, [("left", {"grams": pytest.approx(0.6)})]),
        (464.6, [("on_target_mix", {})]),
        (465.4, [("on_target_mix", {})]),
        (475, [("over_target", {"grams": 10, "to_high": 20}), ("mix_then_squeeze", {})]),
        (495, [("at_high_mix", {})]),
    ],
)
def test_low_target_and_high_by_half_a_gram(water: float, said: list[tuple[str, dict[str, float]]]) -> None:
    """Marks of 1500 g: low 450, target 465, high 495 g (30, 31 and 33 %: common practice, no source)."""
    kitchen = mixing(1500, 330)
    assert (kitchen.batch.to_low_g, kitchen.batch.to_target_g, kitchen.batch.to_high_g) == (120, 135, 165)
    assert kitchen.say(AddWater(typed(water - 330)))[1:] == said


def test_over_high_says_the_flour_that_mends_it() -> None:
    """500 g in 1500 g is 5 g past 33 %; 500 / 0.33 is 1515.2 g of flour: 16 g, rounded up, bring it back."""
    kitchen = mixing(1500)
    assert kitchen.say(AddWater(typed(500))) == [("ask_past_high", {"grams": 500, "over": 5})]
    assert kitchen.say(ANSWER_YES) == [
        ("water_in", {"grams": 500}),
        ("rescue_fits", {"grams": 5, "flour": 16}),
    ]
    assert kitchen.say(Ask("next")) == [("rescue_fits", {"grams": 5, "flour": 16})]
    assert kitchen.say(Ask("left")) == [("over_high", {"grams": 5})]
    assert kitchen.say(AddFlour(grams(16))) == [
        ("flour_in_twice", {"grams": 16}),
        ("at_high_mix", {}),
    ]


def test_over_high_where_the_hopper_is_too_small_for_the_flour() -> None:
    """2200 g with 760 g want 103.03 g of flour, and 3063.03 g are too much for 3000.

    2960 x (1 - 3000 / 3063.03) = 60.9 g come out; what stays, 97.94 %, wants 100.9 g.
    """
    kitchen = mixing(2200)
    kitchen.say(AddWater(typed(760)))
    assert kitchen.say(ANSWER_YES)[1:] == [("rescue_over_hopper", {"flour": 101, "over": 61})]
    kitchen.say(TookOut(typed(61), "dough"))
    assert kitchen.heard[-1].values["flour"] == 101, "the figure stays what it was"
    assert kitchen.keys(AddFlour(typed(101))) == ["flour_in", "at_high_mix"]
    assert kitchen.batch.product_g == pytest.approx(3000)


def test_over_high_past_what_flour_can_mend() -> None:
    """1500 g with 900 g want 1227.3 g of flour: 415.1 g of 2400 come out for it, and the rest wants 1014.6 g.

    With 1060 g they want 1712.1 g, and 765.6 g of 2560 come out: more than a quarter of 3000 g.
    """
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(900)))
    assert kitchen.say(ANSWER_YES)[1:] == [("rescue_over_hopper", {"flour": 1015, "over": 416})]
    kitchen.say(MakeThat(typed(1060)))
    assert kitchen.say(ANSWER_YES)[1:] == [("rescue_beyond", {"grams": 565})]


def test_opening_past_the_hopper_says_how_much_flour_fits() -> None:
    """3000 g at 31 % is made of 2290.08 g of flour: down to 2290 (bench hopper of 3 kg: common practice)."""
    assert Kitchen().say(NewBatch(typed(2400))) == [
        ("batch_opened_over", {"batch": 1, "flour": 2400, "most": 2290}),
    ]
    assert Kitchen().keys(NewBatch(typed(2290))) == ["batch_opened", "first_pour"]


def test_flour_past_the_hopper() -> None:
    kitchen = mixing(2000, 620)
    # 2400 g at 31 % make 3144 g.
    assert kitchen.say(AddFlour(typed(400))) == [("ask_over_hopper", {"grams": 400, "over": 144})]
    assert kitchen.say(ANSWER_YES) == [("flour_in", {"grams": 400}), ("left", {"grams": 124})]


@pytest.mark.parametrize(
    ("flour", "said"),
    [
        (Amount(99), ("flour_too_little", {"grams": 99, "least": 100})),
        (Amount(0), ("amount_zero", {})),
        (Amount(float("nan")), ("amount_zero", {})),
        (Amount(3001), ("flour_too_much", {"grams": 3001, "most": 2290})),
        (Amount(15, "kg"), ("flour_too_much", {"grams": 15000, "most": 2290})),
    ],
    ids=str,
)
def test_flour_that_cannot_be_meant(flour: Amount, said: tuple[str, dict[str, float]]) -> None:
    kitchen = Kitchen()
    assert kitchen.say(NewBatch(flour)) == [said]
    assert kitchen.events == []


@pytest.mark.parametrize("kind", [AddWater, AddFlour, Scrap, MakeThat])
@pytest.mark.parametrize("value", [0.0, -20.0, float("nan")])
def test_nothing_is_not_logged(kind: type[AddWater] | type[AddFlour], value: float) -> None:
    kitchen = mixing(1500, 150)
    events = len(kitchen.events)
    assert kitchen.say(kind(typed(value))) == [("amount_zero", {})]
    assert kitchen.say(kind(typed(3001))) == [("amount_too_much", {"grams": 3001, "hopper": 3000})]
    assert len(kitchen.events) == events


@pytest.mark.parametrize(
    "command",
    [
        AddWater(Amount(10)), PourRest(), AddFlour(Amount(10)), Scrap(Amount(10)), MakeThat(Amount(10)),
        JudgeCrumb("dry"), CloseBatch(), DropBatch(), NewDie("shells"), TrayDone(), Portions(3),
        Ask("left"), Ask("in"), Ask("hydration"), Ask("where"),
    ],
    ids=lambda command: type(command).__name__,
)  # fmt: skip
def test_without_a_batch(command: AddWater) -> None:
    kitchen = Kitchen()
    assert kitchen.say(command) == [("no_batch", {})]
    assert kitchen.events == []


def test_a_second_batch_waits_for_the_first() -> None:
    kitchen = mixing(1500)
    assert kitchen.say(NewBatch(grams(2000))) == [("batch_already_open", {"batch": 1})]
    kitchen.say(CloseBatch())
    assert kitchen.say(NewBatch(grams(2000)))[0][1]["batch"] == 2


# ---- corrections


def test_make_that_corrects_the_last_entry() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.say(MakeThat(typed(115))) == [
        ("corrected", {"grams": 115, "was": 150}),
        ("left", {"grams": 350}),
    ]
    assert [entry.grams for entry in kitchen.batch.entries] == [1500, 115]
    assert kitchen.say(Undo()) == [("undone_correction", {"grams": 150}), ("left", {"grams": 315})]


def test_correcting_the_opening_flour_moves_the_first_pour() -> None:
    """445 of 620 g would be nearly all that 1500 g of flour take."""
    kitchen = mixing(2000)
    assert kitchen.say(MakeThat(typed(1500))) == [
        ("corrected", {"grams": 1500, "was": 2000}),
        ("left", {"grams": 465}),
        ("first_pour", {"grams": 330}),
    ]
    assert kitchen.say(MakeThat(typed(99))) == [("flour_too_little", {"grams": 99, "least": 100})]
    assert kitchen.say(Undo())[-1] == ("first_pour", {"grams": 445})


def test_correcting_the_flour_past_the_hopper() -> None:
    kitchen = mixing(1500)
    assert kitchen.say(MakeThat(typed(2400))) == [("ask_over_hopper", {"grams": 2400, "over": 144})]
    assert kitchen.keys(ANSWER_YES) == ["corrected", "left", "first_pour"]


def test_correcting_flour_down_past_high_is_asked() -> None:
    """520 g of water are within 33 % of 1600 g of flour (528 g), and 21.7 g past that of 1510 g (498.3 g)."""
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(520)))
    kitchen.say(ANSWER_YES)
    kitchen.say(AddFlour(typed(100)))
    assert kitchen.say(MakeThat(typed(10))) == [("ask_past_high", {"grams": 10, "over": pytest.approx(21.7)})]
    assert kitchen.keys(ANSWER_YES) == ["corrected", "rescue_fits"]


def test_a_correction_that_makes_it_better_is_not_asked() -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    kitchen.say(ANSWER_YES)
    assert kitchen.say(MakeThat(typed(550))) == [
        ("corrected", {"grams": 550, "was": 600}),
        ("rescue_fits", {"grams": 55, "flour": 167}),
    ]


def test_correcting_scrap_says_nothing_of_the_water() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(Scrap(typed(40))) == [("scrap_in", {"grams": 40})]
    assert kitchen.say(MakeThat(typed(45))) == [("corrected", {"grams": 45, "was": 40})]
    assert kitchen.say(Undo()) == [("undone_correction", {"grams": 40})]
    assert kitchen.say(Undo()) == [("undone_scrap", {"grams": 40})]
    assert kitchen.batch.scrap_g == 0


# ---- taking back


def test_undo_is_a_withdrawal_and_the_record_stays() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.say(Undo()) == [("undone_water", {"grams": 150}), ("left", {"grams": 465})]
    assert [type(event).__name__ for event in kitchen.events] == ["BatchOpened", "WaterAdded", "Withdrawn"]
    assert kitchen.batch.water_g == 0
    assert kitchen.say(Undo()) == [("undone_opening", {})]
    assert kitchen.state.batch is None
    assert kitchen.say(Undo()) == [("nothing_to_undo", {})]
    kitchen.check()


def test_undo_of_flour() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(AddFlour(typed(100)))
    assert kitchen.say(Undo()) == [
        ("undone_flour", {"grams": 100}),
        ("left", {"grams": 135}),
        ("mix_then_squeeze", {}),
    ]


def test_undo_of_water_after_its_mix_is_over_leaves_the_squeeze() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    kitchen.wait(61)
    kitchen.say(GotIt())
    assert kitchen.say(Undo()) == [("undone_water", {"grams": 330}), ("left", {"grams": 465})]
    assert kitchen.state.phase is Phase.SQUEEZING


@pytest.mark.parametrize(
    ("command", "what"),
    [
        (SetLot("471"), "lot"),
        (NewDie("shells"), "die"),
        (TrayDone(), "tray"),
        (Portions(12), "portions"),
    ],
    ids=str,
)
def test_undo_names_what_it_took_back(command: SetLot, what: str) -> None:
    kitchen = mixing(1500, 330)
    before = kitchen.batch
    kitchen.say(command)
    assert kitchen.batch != before
    assert kitchen.say(Undo()) == [("undone_other", {"what": what})]
    assert kitchen.batch == before


def test_undo_of_a_target_says_where_the_account_stands() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(SetTarget(32)) == [
        ("target_set", {"target": 32, "water": 480}),
        ("left", {"grams": 150}),
    ]
    assert kitchen.say(Undo()) == [
        ("undone_other", {"what": "target"}),
        ("left", {"grams": 135}),
        ("mix_then_squeeze", {}),
    ]


def test_fifty_steps_can_be_taken_back_and_no_more() -> None:
    kitchen = mixing(2000)
    for _ in range(60):
        kitchen.say(TrayDone())
    answers = [kitchen.keys(Undo()) for _ in range(51)]
    assert answers == [["undone_other"]] * 50 + [["nothing_to_undo"]]
    assert kitchen.batch.trays == 10


# ---- target and lot


def test_target_and_lot_before_the_batch_hold_for_it_alone() -> None:
    kitchen = Kitchen()
    assert kitchen.say(SetTarget(32)) == [("target_set_next", {"target": 32})]
    assert kitchen.say(SetLot("471")) == [("lot_named", {"lot": "471"})]
    assert kitchen.say(NewBatch(typed(1500)))[0][1]["water"] == 480
    assert (kitchen.batch.lot, kitchen.batch.target_pct) == ("471", 32)
    kitchen.say(DropBatch())
    kitchen.say(NewBatch(typed(1500)))
    assert (kitchen.batch.lot, kitchen.batch.target_pct) == (None, 31)


@pytest.mark.parametrize("percent", [19.9, 50.1, 13.0, float("nan")])
def test_a_target_that_cannot_be_meant(percent: float) -> None:
    kitchen = Kitchen()
    ((key, values),) = kitchen.say(SetTarget(percent))
    assert (key, values["least"], values["most"]) == ("target_impossible", 20, 50)
    assert kitchen.events == []


def test_high_comes_back_when_an_unusual_target_goes() -> None:
    """A yes to 35 % is no yes to 35 % for the rest of the batch: never past high without one."""
    kitchen = mixing(1500)
    assert kitchen.say(SetTarget(35)) == [("ask_target", {"target": 35, "low": 30, "high": 33})]
    assert kitchen.say(ANSWER_YES)[0] == ("target_set", {"target": 35, "water": 525})
    assert kitchen.batch.high_pct == 35
    kitchen.say(SetTarget(31))
    assert (kitchen.batch.low_pct, kitchen.batch.high_pct) == (30, 33)
    assert kitchen.keys(AddWater(typed(500))) == ["ask_past_high"]


def test_a_target_lowered_below_what_is_in() -> None:
    kitchen = mixing(1500, 460)
    assert kitchen.say(SetTarget(30)) == [
        ("target_set", {"target": 30, "water": 450}),
        ("over_target", {"grams": 10, "to_high": 35}),
        ("mix_then_squeeze", {}),
    ]


def test_a_target_that_moves_the_first_look() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.say(SetTarget(33))[1:] == [("left", {"grams": 345}), ("first_pour", {"grams": 200})]


# ---- units and sources


def test_volumes_are_weighed_as_water_of_the_kitchens_temperature() -> None:
    """310 ml at 40 C weigh 307.59 g (IAPWS-95; see tests/dough for the table itself)."""
    kitchen = mixing(1000, rules=BatchRules(water_temperature_c=40.0))
    kitchen.say(AddWater(typed(310, "ml")))
    assert kitchen.batch.water_g == pytest.approx(307.59, abs=0.02)


def test_every_entry_knows_its_source_and_time() -> None:
    kitchen = mixing(1500)
    kitchen.now = 42.0
    kitchen.ask(Said(AddWater(typed(150)), "jug"))
    entry = kitchen.batch.entries[-1]
    assert (entry.kind, entry.grams, entry.source, entry.at) == ("water", 150, "jug", 42.0)


def test_a_hundred_grams_are_a_batch_and_less_is_not() -> None:
    kitchen = Kitchen()
    assert kitchen.say(NewBatch(typed(99.9))) == [("flour_too_little", {"grams": 99.9, "least": 100})]
    assert kitchen.keys(NewBatch(typed(100)))[0] == "batch_opened"
    assert kitchen.say(MakeThat(typed(99.9))) == [("flour_too_little", {"grams": 99.9, "least": 100})]
    assert kitchen.keys(MakeThat(typed(100)))[0] == "corrected"
    kitchen.check()


def test_a_batch_that_just_fills_the_hopper_fits() -> None:
    # 1000 g of flour and 310 g of water at 31 %.
    full = Kitchen(rules=BatchRules(hopper_g=1310))
    assert full.keys(NewBatch(typed(1000))) == ["batch_opened", "first_pour"]
    assert Kitchen(rules=BatchRules(hopper_g=1309)).keys(NewBatch(typed(1000))) == ["batch_opened_over"]


def test_more_flour_before_the_first_look_moves_the_first_pour() -> None:
    # First pour of 1500 g: 330 of 465 g. That share of 1700 g's 527 g is 374, down to 370; 100 g are in.
    kitchen = mixing(1500, 100)
    assert kitchen.say(AddFlour(typed(200))) == [
        ("flour_in", {"grams": 200}),
        ("left", {"grams": pytest.approx(427)}),
        ("first_pour", {"grams": pytest.approx(270)}),
    ]


def test_entries_are_numbered_without_a_gap() -> None:
    kitchen = mixing(1500, 100, 50)
    kitchen.say(Scrap(typed(20)))
    kitchen.say(AddFlour(typed(40)))
    assert [entry.number for entry in kitchen.batch.entries] == [1, 2, 3, 4, 5]
    kitchen.say(DropBatch())
    kitchen.say(NewBatch(typed(500)))
    assert [entry.number for entry in kitchen.batch.entries] == [6]

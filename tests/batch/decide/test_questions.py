"""Asking before logging: past high, twins, a thin margin, time running. Ten seconds; silence means no."""

import pytest

from assistant.batch.decide.decide import Said, next_due
from assistant.batch.decide.making.mishearing import is_bare_twin, twin
from assistant.batch.decide.timing.ringing import GAP_S
from assistant.batch.record.commands import (
    AddFlour,
    AddTime,
    AddWater,
    Answer,
    Ask,
    CloseBatch,
    Command,
    DropBatch,
    Extruding,
    GotIt,
    JudgeCrumb,
    Loudness,
    MakeThat,
    Mix,
    NewBatch,
    Portions,
    PourRest,
    Scrap,
    SetLot,
    SetTarget,
    SetTimer,
    Undo,
)
from assistant.dough.amounts import Amount
from tests.batch.kitchen import Kitchen, Spoken, at_target, grams, mixing, typed

YES, NO = Answer(yes=True), Answer(yes=False)


# ---- past high


def test_never_past_high_without_a_yes() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(AddWater(typed(166))) == [("ask_past_high", {"grams": 166, "over": 1})]
    assert kitchen.batch.water_g == 330
    assert kitchen.say(NO) == [("not_logged", {})]
    assert kitchen.batch.water_g == 330
    kitchen.say(AddWater(typed(166)))
    assert kitchen.keys(YES) == ["water_in", "rescue_fits"]
    assert kitchen.batch.water_g == 496


def test_just_to_high_is_not_asked() -> None:
    assert mixing(1500, 330).keys(AddWater(typed(165))) == ["water_in", "at_high_mix"]


def test_a_correction_past_high_is_asked() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.say(MakeThat(typed(530))) == [("ask_past_high", {"grams": 530, "over": 35})]
    assert kitchen.say(YES)[0] == ("corrected", {"grams": 530, "was": 330})


# ---- ten seconds, silence means no


def test_silence_means_no_after_ten_seconds() -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    assert next_due(kitchen.state) == 10
    assert kitchen.wait(9.99) == []
    assert kitchen.state.question is not None
    assert kitchen.wait(0.01) == [("lapsed", {})]
    assert kitchen.say(YES) == []
    assert kitchen.batch.water_g == 0
    kitchen.check()


def test_a_yes_at_the_last_moment_counts() -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    kitchen.wait(9.99)
    assert kitchen.keys(YES)[0] == "water_in"


def test_a_yes_that_comes_late_counts_for_nothing_even_where_the_clock_was_not_asked() -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    kitchen.now += 10.0
    assert kitchen.say(YES) == [("lapsed", {})]
    assert kitchen.batch.water_g == 0


def test_yes_and_no_without_a_question_are_talk() -> None:
    kitchen = mixing(1500)
    kitchen.wait(11)
    assert kitchen.say(YES) == kitchen.say(NO) == []


def test_an_answer_badly_heard_settles_nothing() -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    assert kitchen.say(YES, unsure=True) == [("yes_or_no", {})]
    assert kitchen.batch.water_g == 0
    assert kitchen.say(NO) == [("not_logged", {})]


# ---- what else may be said while a question is open


@pytest.mark.parametrize(
    ("command", "key"),
    [
        (Ask("left"), "to_marks"),
        (Ask("help"), "help_question"),
        (Loudness(1), "louder"),
        (GotIt(), "nothing_rings"),
    ],
    ids=lambda value: value if isinstance(value, str) else type(value).__name__,
)
def test_beside_a_question(command: Command, key: str) -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    assert kitchen.keys(command) == [key]
    assert kitchen.keys(YES)[0] == "water_in"


def test_another_command_closes_the_question_and_says_so() -> None:
    """A cook who goes on to mix must not think that the pour was logged."""
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    assert kitchen.keys(Mix()) == ["not_logged", "mixing_for"]
    assert kitchen.batch.water_g == 0


def test_the_amount_said_again_takes_the_place_of_the_one_asked_about() -> None:
    kitchen = mixing(1500)
    kitchen.say(AddWater(typed(600)))
    assert kitchen.keys(AddWater(typed(160))) == ["water_in", "left"]
    kitchen.say(AddWater(typed(600)))
    assert kitchen.keys(MakeThat(typed(161))) == ["water_in", "left"]
    assert [entry.grams for entry in kitchen.batch.entries] == [1500, 160, 161]


def test_make_that_mends_the_flour_of_a_batch_asked_about() -> None:
    kitchen = Kitchen()
    assert kitchen.say(NewBatch(grams(2000)), unsure=True) == [("ask_unsure_amount", {"grams": 2000})]
    assert kitchen.keys(MakeThat(grams(1500))) == ["batch_opened", "first_pour"]
    assert kitchen.batch.flour_g == 1500


def test_undo_of_a_question_is_no() -> None:
    kitchen = mixing(1500, 150)
    kitchen.say(AddWater(typed(600)))
    assert kitchen.say(Undo()) == [("not_logged", {})]
    assert kitchen.batch.water_g == 150


@pytest.mark.parametrize(
    ("seconds", "rings"), [(6, ("mix_rings", {})), (9, ("mix_rings_late", {"seconds": 4}))]
)
def test_a_timer_waits_until_the_question_is_answered(seconds: float, rings: Spoken) -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    kitchen.wait(55)
    kitchen.say(AddWater(typed(400)))
    assert kitchen.wait(seconds) == []
    assert kitchen.keys(GotIt()) == ["nothing_rings"]
    assert kitchen.keys(YES) == ["water_in", "rescue_fits"]
    assert kitchen.wait(0) == [rings]


def test_a_timer_waits_no_longer_than_the_question() -> None:
    kitchen = mixing(1500, 330)
    kitchen.say(Mix(60))
    kitchen.wait(59)
    kitchen.say(AddWater(typed(400)))
    assert kitchen.wait(9.9) == []
    assert kitchen.wait(0.2) == [("lapsed", {})]
    assert kitchen.wait(GAP_S) == [("mix_rings", {})]


# ---- twins


@pytest.mark.parametrize("teen", range(13, 20))
def test_every_teen_has_its_ty(teen: int) -> None:
    """13/30 ... 19/90: the pairs of spoken English (common knowledge, no source)."""
    ty = (teen - 10) * 10
    assert (twin(teen), twin(ty)) == (ty, teen)
    assert (twin(100 + teen), twin(400 + ty)) == (100 + ty, 400 + teen)


@pytest.mark.parametrize("value", [0, -15, 12, 20, 100, 2000, 31.5, 0.15])
def test_numbers_without_a_twin(value: float) -> None:
    assert twin(value) is None


@pytest.mark.parametrize(("said", "other"), [(15, 50), (50, 15)])
def test_fifteen_is_asked_where_fifty_was_heard_nearly_as_well(said: float, other: float) -> None:
    """Fifty taken for fifteen is a recorded cause of error: PA-PSRS Patient Safety Advisory, June 2006."""
    kitchen = mixing(1500, 150)
    assert kitchen.say(AddWater(grams(said)), near=True) == [("ask_twin", {"grams": said})]
    assert kitchen.batch.water_g == 150
    assert kitchen.say(YES) == [("water_in_twice", {"grams": said}), ("left", {"grams": 315 - said})]
    assert twin(said) == other


def test_a_badly_heard_number_whose_twin_could_be_meant_is_asked_about_as_one() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.keys(AddWater(grams(15)), unsure=True) == ["ask_twin"]


@pytest.mark.parametrize("said", [15, 50, 70])
def test_heard_clearly_a_number_that_makes_sense_is_logged_and_said_twice(said: float) -> None:
    assert mixing(1500, 150).keys(AddWater(grams(said))) == ["water_in_twice", "left"]


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        (13, True),  # nobody pours thirteen where thirty makes sense (common practice, no source)
        (14, True),
        (113, True),
        (114, True),
        (30, False),
        (130, False),
        (115, False),  # not so rare that it is asked about each time
        (150, False),
    ],
)
def test_the_moment_asks_where_the_twin_is_much_more_likely(said: float, asked: bool) -> None:
    assert (mixing(1500, 150).keys(AddWater(grams(said))) == ["ask_twin"]) is asked


@pytest.mark.parametrize("command", [AddWater(grams(13)), AddFlour(grams(13)), MakeThat(grams(113))], ids=str)
def test_at_a_keyboard_no_number_is_taken_for_its_twin(command: Command) -> None:
    kitchen = mixing(1500, 150)
    for near in (False, True):
        said = kitchen.ask(Said(command, "keyboard", twin_near=near))
        assert said[0][0] in ("water_in", "flour_in", "corrected")
        kitchen.say(Undo())


@pytest.mark.parametrize(
    ("water", "said", "asked"),
    [
        (450, 15, False),  # just to the target
        (315, 15, False),  # just to the first look
        (445, 50, False),  # just to high
        (460, 15, False),  # fifty would pass high
        (445, 15, True),  # fifty would just reach it
        (446, 15, False),
        (400, 15, True),
        (400, 50, False),  # just to low
        (410, 50, True),
        (400, 16, True),
        (400, 60, False),  # nobody pours sixteen
    ],
)
def test_a_twin_is_asked_only_where_it_is_plausible(water: float, said: float, asked: bool) -> None:
    kitchen = mixing(1500, water)
    keys = kitchen.keys(AddWater(grams(said)), near=True)
    assert (keys == ["ask_twin"]) is asked


def test_a_typed_or_weighed_number_has_no_twin() -> None:
    kitchen = mixing(1500, 150)
    assert kitchen.say(AddWater(typed(15))) == [("water_in", {"grams": 15}), ("left", {"grams": 300})]
    assert not is_bare_twin(typed(15))


def test_a_twin_in_a_correction_is_held_against_the_account_without_the_entry() -> None:
    """With 490 of at most 495 g in, "make that fifteen" of an entry of 150 may be fifty: 390 g in all."""
    kitchen = mixing(1500, 340, 150)
    assert kitchen.say(MakeThat(grams(15)), near=True) == [("ask_twin", {"grams": 15})]
    assert kitchen.say(YES)[0] == ("corrected", {"grams": 15, "was": 150})


def test_a_correction_that_just_reaches_the_target_was_meant() -> None:
    kitchen = mixing(1500, 415, 35)
    assert kitchen.keys(MakeThat(grams(50)), near=True) == ["corrected", "on_target_mix"]


def test_a_yes_logs_with_the_source_that_was_asked_about() -> None:
    kitchen = mixing(1500, 150)
    kitchen.ask(Said(AddWater(typed(600)), "keyboard"))
    kitchen.say(YES)
    assert kitchen.batch.entries[-1].source == "keyboard"


def test_scrap_and_flour_have_twins_too() -> None:
    kitchen = mixing(1500, 330)
    assert kitchen.keys(Scrap(grams(50)), near=True) == ["ask_twin"]
    assert kitchen.keys(AddFlour(grams(15)), near=True) == ["not_logged", "ask_twin"]


def test_the_flour_that_was_asked_for_is_taken_at_its_word() -> None:
    kitchen = at_target()
    assert kitchen.say(JudgeCrumb("wet")) == [("wet_flour", {"flour": 50, "hydration": 30})]
    assert kitchen.keys(AddFlour(grams(50))) == ["flour_in_twice", "mix_then_squeeze"]


# ---- a thin margin


@pytest.mark.parametrize(
    ("command", "asked"),
    [
        (AddWater(Amount(20)), ("ask_unsure_amount", {"grams": 20})),
        (PourRest(), ("ask_unsure_amount", {"grams": 35})),
        (AddFlour(Amount(200)), ("ask_unsure_amount", {"grams": 200})),
        (Scrap(Amount(40)), ("ask_unsure_amount", {"grams": 40})),
        (MakeThat(Amount(420)), ("ask_unsure_amount", {"grams": 420})),
        (JudgeCrumb("ready"), ("ask_unsure", {"said": "as heard"})),
        (SetLot("471"), ("ask_unsure", {"said": "as heard"})),
        (SetTarget(32), ("ask_unsure", {"said": "as heard"})),
        (Undo(), ("ask_unsure", {"said": "as heard"})),
        (CloseBatch(), ("ask_unsure", {"said": "as heard"})),
        (DropBatch(), ("ask_unsure", {"said": "as heard"})),
        (Extruding(), ("ask_unsure", {"said": "as heard"})),
        (Portions(12), ("ask_unsure", {"said": "as heard"})),
    ],
    ids=lambda value: type(value).__name__ if not isinstance(value, tuple) else "",
)
def test_a_thin_margin_asks_before_it_logs(command: Command, asked: tuple[str, dict[str, object]]) -> None:
    kitchen = mixing(1500, 430)
    before = kitchen.state
    assert kitchen.say(command, unsure=True, text="as heard") == [asked]
    assert kitchen.state.batch == before.batch
    assert kitchen.say(NO) == [("not_logged", {})]
    assert kitchen.state == before
    kitchen.say(command, unsure=True, text="as heard")
    kitchen.say(YES)
    done = mixing(1500, 430)
    done.say(command)
    assert kitchen.state == done.state


# ---- closing with time running


@pytest.mark.parametrize("command", [CloseBatch(), DropBatch()], ids=["close", "drop"])
def test_ending_a_batch_with_time_running_is_asked(command: Command) -> None:
    kitchen = mixing(1500, 430)
    kitchen.say(Mix(60))
    kitchen.wait(20)
    assert kitchen.say(command) == [("ask_time_running", {"timer": "mix", "seconds": 40})]
    assert kitchen.say(NO) == [("not_logged", {})]
    assert kitchen.state.batch is not None
    kitchen.say(command)
    kitchen.say(YES)
    assert kitchen.state.batch is None
    assert kitchen.state.timers == ()
    assert kitchen.say(Undo()) == [
        ("undone_closing", {"batch": 1}),
        ("time_left", {"timer": "mix", "seconds": 40}),
    ]
    kitchen.say(AddTime(10))
    kitchen.check()


def test_ending_a_batch_whose_time_is_up_is_not_asked() -> None:
    kitchen = mixing(1500, 435)
    kitchen.say(Mix(60))
    kitchen.wait(60)
    assert kitchen.say(CloseBatch()) == [
        ("batch_closed", {"batch": 1, "flour": 1500, "water": 435, "hydration": pytest.approx(29)})
    ]
    assert kitchen.state.timers == ()


def test_a_kitchen_timer_does_not_hold_the_batch_open() -> None:
    kitchen = mixing(1500)
    kitchen.say(SetTimer("sauce", 600))
    assert kitchen.say(CloseBatch()) == [("batch_closed_dry", {"batch": 1, "flour": 1500})]
    assert [timer.name for timer in kitchen.state.timers] == ["sauce"]


def test_a_very_small_pour_is_asked_about_unless_a_dry_crumb_or_a_mark_wants_it() -> None:
    kitchen = mixing(1500, 440)
    assert kitchen.keys(AddWater(grams(5))) == ["ask_unsure_amount"]
    kitchen.say(Answer(yes=False))
    kitchen.say(JudgeCrumb("dry"))
    assert kitchen.keys(AddWater(grams(5)))[0] == "water_in"
    assert mixing(1500, 460).keys(AddWater(grams(5)))[0] == "water_in"

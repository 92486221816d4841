"""A turn is short: what is left out, what is said shorter, and what never is."""

from functools import partial
from itertools import combinations
from typing import Any

import pytest

from assistant.batch.record.announcements import SAYABLE, Announcement, say
from assistant.nlg.brevity import MOST_S, brief, is_brief, seconds_of, sentences_in
from assistant.nlg.left_out import CAN_WAIT, SHORTER
from tests.nlg.off_first import replies_of, text_of

ENGLISH = partial(text_of, language="en")


def said(*turn: Announcement) -> list[str]:
    return [text for _, text in brief(turn, ENGLISH)]


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("On target.", 1),
        ("The rest is up. Off and unplugged, then squeeze.", 2),
        ("Yes or no?", 1),
        ("Forty in. Ten over target. Mix.", 3),
        ("«Yes» o «no»?", 1),
    ],
)
def test_sentences_are_counted(text: str, sentences: int) -> None:
    assert sentences_in(text) == sentences


def test_longer_takes_longer() -> None:
    texts = ["Ready.", "On target.", "One fifty in.", "One fifty in, and mix.", "One fifty in. Now mix it."]
    assert sorted(texts, key=seconds_of) == texts
    assert seconds_of("Lot 4 7 1.") > seconds_of("Lot 4.")


def test_what_is_brief_is_said_whole() -> None:
    turn = (say("water_in", "taken", grams=150.0), say("left", grams=315.0))
    assert said(*turn) == ["One fifty in.", "Three fifteen left."]


def test_at_the_first_look_mixing_is_said_and_what_is_left_is_not() -> None:
    turn = (say("water_in", grams=330.0), say("left", grams=135.0), say("mix_then_squeeze"))
    assert said(*turn) == ["Three thirty in.", "Mix, then off, unplugged, squeeze."]


def test_of_an_unknown_lot_that_opens_a_batch_the_batch_is_said() -> None:
    opened = say("batch_opened", batch=1, flour=1500.0, water=465.0, target=31.0)
    turn = (say("lot_named", lot="12"), say("lot_unknown"), opened)
    assert said(*turn) == ["Lot one two.", "Batch one: fifteen hundred of flour takes four sixty-five."]


def test_what_can_wait_goes_in_its_order_and_no_further_than_it_must() -> None:
    turn = (
        say("flour_in", grams=200.0),
        say("hopper_over", product=3100.0, hopper=3000.0, flour=2290.0),
        say("left", grams=62.0),
        say("first_pour", grams=45.0),
    )
    assert said(*turn) == ["Two hundred of flour in.", "The hopper takes twenty-two ninety of flour."]


def test_what_is_too_long_is_said_in_its_shorter_form() -> None:
    turn = (say("corrected", grams=465.0, was=450.0), say("rescue_over_hopper", flour=303.0, over=198.0))
    assert said(*turn) == ["Now four sixty-five, four six five.", "Over high: say what next."]
    assert said(turn[1]) == [
        "Over high: off and unplugged, take one ninety-eight out, then three oh three of flour."
    ]


EGG, GREEN = "whole egg", "spinach boiled"
OPENED: dict[str, Any] = {"batch": 14.0, "flour": 1850.0, "water": 465.0}


@pytest.mark.parametrize(
    ("turn", "texts"),
    [
        (
            (say("batch_opened", **OPENED, target=31.0), say("ask_addition", grams=185.0, ingredient=GREEN)),
            ["Batch fourteen: eighteen fifty of flour takes four sixty-five.", "Spinach in?"],
        ),
        (
            (
                say("batch_again", **OPENED, target=31.0, lot="471"),
                say("ask_addition", grams=370.0, ingredient=EGG),
            ),
            ["Batch fourteen: eighteen fifty, lot four seven one, takes four sixty-five.", "Egg in?"],
        ),
        (
            (
                say("recipe_chosen", recipe="egg", target=31.0),
                say("batch_opened", batch=1.0, flour=1000.0, water=158.0, target=31.0),
                say("ask_addition", grams=200.0, ingredient=EGG),
            ),
            ["Batch one: one kilo of flour takes one fifty-eight.", "Two hundred of egg, in?"],
        ),
        (
            (say("batch_opened", **OPENED, target=31.0), say("allergen_before", allergens="egg,molluscs")),
            ["Eighteen fifty takes four sixty-five.", "No clean down since egg, molluscs."],
        ),
        (
            (
                say("addition_in", grams=286.0, ingredient=EGG),
                say("wet_flour_over_hopper", flour=278.0, hydration=30.5, over=177.0),
            ),
            [
                "Off and unplugged, take one seventy-seven out, then two seventy-eight of flour.",
            ],
        ),
        (
            (say("addition_in", grams=286.0, ingredient=EGG), say("dry_at_high", high=33.0)),
            ["No more water: high is thirty-three. Rest it, then switch off and squeeze."],
        ),
    ],
)
def test_an_addition_leaves_room_for_what_goes_with_it(
    turn: tuple[Announcement, ...], texts: list[str]
) -> None:
    assert said(*turn) == texts
    assert is_brief(texts)


def test_what_can_not_wait_is_said_however_long() -> None:
    caution = say("extruding_early")
    assert said(caution, caution) == [ENGLISH(caution)] * 2


def test_the_tone_of_a_turn_outlives_what_is_left_out() -> None:
    turn = (say("walk_begun", "taken", walk="die change", steps=8.0), say("walk_step", step="One. Two."))
    assert [(one.key, one.tone) for one, _ in brief(turn, ENGLISH)] == [("walk_step", "taken")]


def test_shorter_forms_need_no_value_that_the_long_one_lacks() -> None:
    for long, short in SHORTER.items():
        assert SAYABLE[short] <= SAYABLE[long]
        assert short not in SHORTER


def test_no_caution_question_or_ring_can_wait() -> None:
    assert len(set(CAN_WAIT)) == len(CAN_WAIT)
    assert set(CAN_WAIT) | set(SHORTER) <= set(SAYABLE)
    kept = (
        "ask_",
        "extruding_",
        "squeeze",
        "mixer_off",
        "you_switch",
        "wet_",
        "dry_",
        "walk_caution",
        "walk_safety",
    )
    more = ("tray_care_short", "tray_cold", "tray_rings", "water_in", "flour_in", "corrected", "batch_opened")
    rings = {key for key in SAYABLE if "rings" in key}
    assert not [key for key in CAN_WAIT if key.startswith(kept + more) or key in rings]


def test_all_that_is_always_the_same_is_brief_in_every_language() -> None:
    for language in ("en", "it"):
        assert [text for text in replies_of(language).fixed() if not is_brief([text])] == []
    assert MOST_S == 6.0


PAIRED = ("egg", "milk", "molluscs", "fish", "crustaceans")


@pytest.mark.parametrize("allergens", list(combinations(PAIRED, 2)), ids="+".join)
def test_an_italian_opening_after_two_allergens_is_brief(allergens: tuple[str, str]) -> None:
    """Of any flour that a cook weighs, with the water that it wants, spelled out in long Italian words."""
    italian = replies_of("it").render
    for flour in range(500, 3001, 50):
        opened = say("batch_opened", batch=28, flour=flour, target=31.0, water=round(flour * 0.31))
        before = say("allergen_before", allergens=",".join(allergens))
        texts = [text for _, text in brief([opened, say("first_pour", grams=333), before], italian)]
        assert is_brief(texts), texts
        assert texts[-1].startswith("Residui di ")


def test_an_italian_question_about_the_hopper_is_brief() -> None:
    asked = say("ask_over_hopper", "question", grams=2657, over=3494)
    texts = [text for _, text in brief([asked], replies_of("it").render)]
    assert texts == ["Oltre la tramoggia: segno duemilaseicentocinquantasette?"]
    assert is_brief(texts)

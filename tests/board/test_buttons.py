"""The buttons of the page: which there are, what they do, and what none of them can."""

import ast
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.batch.record import commands as cmd
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.steps import Step, Walking
from assistant.board.board_words import BUTTONS
from assistant.board.wall.buttons import MOST, Button, buttons, pressed
from assistant.station.messages import Touched
from tests.browser.wall_stand import KITCHEN, words
from tests.station.stand import Stand
from tests.test_project import TOP, texts

RULES = BatchRules()
TOLD = (
    cmd.Answer, cmd.GotIt, cmd.Listening, cmd.WalkMove, cmd.AddWater, cmd.AddFlour, cmd.Mix, cmd.JudgeCrumb,
    cmd.Rest, cmd.Extruding, cmd.DieWarm, cmd.TrayDone, cmd.CloseBatch, cmd.Undo, cmd.AddAddition,
)  # fmt: skip
"""What a button may stand for: what a cook tells of the dough, the time and the station."""
SWITCH = ("mixer", "machine", "motor", "switch")


def stand_with_recipes() -> Stand:
    """A station that knows the recipes that ship."""
    stand = Stand()
    stand.station._known = KITCHEN
    return stand


def offered(stand: Stand) -> tuple[Button, ...]:
    return buttons(stand.station.state, stand.station.now, RULES)


def names(stand: Stand) -> list[str]:
    return [one.name for one in offered(stand)]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ((), []),
        (("new batch fifteen hundred",), ["poured", "mix", "undo"]),
        (("new batch fifteen hundred", "water three thirty", "mix"), ["undo"]),
        (("new batch fifteen hundred", "water six hundred"), ["yes", "no"]),
        (("new batch",), ["cancel"]),
        (("timer two one minute", "+61"), ["got_it"]),
        (
            ("new batch fifteen hundred", "water three thirty", "mix", "+121", "got it"),
            ["dry", "ready", "wet", "rest", "undo"],
        ),
        (("ears off",), ["listen"]),
        (("new batch fifteen hundred", "water five hundred", "yes"), ["floured", "mix", "undo"]),
    ],
)
def test_what_makes_sense_now_is_offered(said: tuple[str, ...], expected: list[str]) -> None:
    stand = Stand()
    for one in said:
        if one.startswith("+"):
            stand.wait(float(one))
        else:
            stand.say(one)
    assert names(stand) == expected


def test_a_walk_through_is_moved_on() -> None:
    stand = Stand()
    walk = Walking("die change", (Step("Machine off and unplugged.", safety=True), Step("Done.")), 0.0)
    state = type(stand.station.state)(walks=(walk,))
    assert [one.name for one in buttons(state, 0.0, RULES)] == ["done", "back"]


@settings(max_examples=40, deadline=None)
@given(
    steps=st.lists(st.one_of(st.integers(0, MOST - 1), st.floats(0.5, 200)), max_size=30),
    opened=st.sampled_from([(), ("new batch fifteen hundred",), ("recipe egg", "new batch fifteen hundred")]),
)
def test_no_way_along_the_buttons_leads_to_a_machine(
    steps: list[int | float], opened: tuple[str, ...]
) -> None:
    """Whatever is pressed, in whatever order: what is offered is told, never switched; six at most."""
    stand = stand_with_recipes()
    for line in opened:
        stand.say(line)
    for step in steps:
        found = offered(stand)
        assert len(found) <= MOST
        assert all(isinstance(one.command, TOLD) for one in found)
        if isinstance(step, float):
            stand.wait(step)
        elif step < len(found):
            stand.station.press(found[step].command, "screen")


def test_the_page_knows_no_device() -> None:
    for name, text in texts("assistant/board/*.py"):
        for node in ast.walk(ast.parse(text)):
            found = [one.name for one in node.names] if isinstance(node, ast.Import) else []
            found += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not [one for one in found if "devices" in one or "gpio" in one], name


def test_no_label_speaks_of_switching() -> None:
    for name in BUTTONS:
        label = (
            words().text(f"button.{name}", grams=1.0, name="salt")
            if name in ("poured", "floured", "addition")
            else words().text(f"button.{name}")
        )
        assert not any(one in label for one in SWITCH)


def test_every_button_has_a_word_and_every_word_a_button() -> None:
    source = Path(TOP / "assistant/board/wall/buttons.py").read_text(encoding="utf-8")
    table = source[source.index("_TABLE:") :]
    assert {name for name in BUTTONS if f'"{name}": ' in table} == set(BUTTONS)


def test_a_press_goes_the_way_of_a_word() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    key = offered(stand)[0].key
    stand.inbox.put(Touched(lambda state: pressed(key, state, stand.station.now, RULES)))
    stand.loop.take_waiting()
    batch = stand.station.state.batch
    assert batch is not None
    assert (batch.water_g, batch.entries[-1].source) == (330.0, "screen")
    assert stand.turns[-1].replies[0].key == "water_in"


def test_an_addition_whose_question_has_lapsed_is_told_by_its_button() -> None:
    stand = stand_with_recipes()
    stand.say("recipe egg")
    stand.say("new batch fifteen hundred")
    assert names(stand) == ["yes", "no"]
    stand.wait(15)
    assert names(stand) == ["addition", "mix", "undo"]
    stand.station.press(offered(stand)[0].command, "screen")
    batch = stand.station.state.batch
    assert batch is not None
    assert [one.name for one in batch.additions] == ["whole egg"]
    assert names(stand) == ["poured", "mix", "undo"]


def test_what_has_passed_is_not_done() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("water six hundred")
    yes = offered(stand)[0].key
    stand.say("no")
    stand.say("water seven hundred")
    stand.inbox.put(Touched(lambda state: pressed(yes, state, stand.station.now, RULES)))
    stand.loop.take_waiting()
    batch = stand.station.state.batch
    assert batch is not None
    assert batch.water_g == 0
    assert stand.station.state.question is not None, "the question of now is still open"


def test_with_hearing_off_the_screen_still_works() -> None:
    stand = Stand()
    stand.say("timer two one minute")
    stand.say("ears off")
    stand.wait(61)
    assert stand.station.state.ringing
    assert names(stand)[:2] == ["got_it", "listen"]
    for one in offered(stand)[:2]:
        stand.station.press(one.command, "screen")
    assert not stand.station.state.ringing
    assert stand.station.state.listening

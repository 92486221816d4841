"""Every event and state goes to text and back; what can't be read is reported by its sequence."""

import json
from dataclasses import dataclass, fields, is_dataclass
from importlib import import_module
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import grimp
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.batch.record import commands as cmd
from assistant.batch.record.events import Event, LoudnessSet, QuestionAsked, WaterAdded
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.evolving.transitions import EVENTS
from assistant.batch.record.phases import Phase
from assistant.batch.record.state import State
from assistant.dough.amounts import Amount
from assistant.errors import JournalError
from assistant.journal import codec
from assistant.journal.codec import DamagedEvent, event_text, read_event, read_state, state_text
from assistant.journal.shapes import ShapeError, decoder
from assistant.testing.journal import decisions

PRIMITIVES: dict[Any, st.SearchStrategy[Any]] = {
    float: st.floats(allow_nan=False, allow_infinity=False),
    int: st.integers(-(2**53), 2**53),
}


def values(hint: Any) -> st.SearchStrategy[Any]:
    """Values of a type, whose numbers all have an end."""
    if hint is cmd.Together:  # it holds commands, which could hold it
        return st.just(cmd.Together((cmd.Mix(60.0), cmd.AddWater(Amount(150.0)))))
    if is_dataclass(hint):
        hints = get_type_hints(hint)
        made: Any = hint
        return st.builds(made, **{field.name: values(hints[field.name]) for field in fields(hint)})
    inside = get_args(hint)
    if get_origin(hint) in (Union, UnionType):
        return st.one_of(*map(values, inside))
    if get_origin(hint) is tuple:
        return (
            st.lists(values(inside[0]), max_size=3).map(tuple)
            if ... in inside
            else st.tuples(*map(values, inside))
        )
    return PRIMITIVES[hint] if hint in PRIMITIVES else st.from_type(hint)


@pytest.mark.parametrize("name", sorted(EVENTS))
def test_every_event_comes_back_as_it_was(name: str) -> None:
    @settings(max_examples=30)
    @given(values(EVENTS[name]))
    def round_trip(event: Event) -> None:
        assert read_event(1, *event_text(event)) == event

    round_trip()


@pytest.mark.parametrize("name", sorted(cmd.COMMANDS))
def test_a_question_keeps_the_command_that_a_yes_carries_out(name: str) -> None:
    @settings(max_examples=15)
    @given(values(cmd.COMMANDS[name]))
    def round_trip(command: cmd.Command) -> None:
        event = QuestionAsked(at=1.0, reason="twin", command=command, source="voice", expires=11.0)
        assert read_event(1, *event_text(event)) == event

    round_trip()


@settings(max_examples=30)
@given(values(State))
def test_every_state_comes_back_as_it_was(state: State) -> None:
    assert read_state(state_text(state)) == state


def test_a_state_that_was_lived_comes_back_as_it_was() -> None:
    state = State()
    steps: list[tuple[float, cmd.Command]] = [
        (0.0, cmd.NewBatch(Amount(1500))),
        (5.0, cmd.AddWater(Amount(0.3, "l", exact=True))),
        (9.0, cmd.Mix()),
        (20.0, cmd.SetTimer("sauce", 600.0)),
        (40.0, cmd.AddWater(Amount(13))),
    ]
    for events in decisions(*steps):
        for event in events:
            state = evolve(state, event)
    assert state.question is not None
    assert state.undo
    assert read_state(state_text(state)) == state


def test_the_text_of_an_event_is_plain_json() -> None:
    name, text = event_text(WaterAdded(at=60.0, entry=2, grams=150.0, source="voice"))
    assert (name, json.loads(text)) == (
        "WaterAdded",
        {"at": 60.0, "entry": 2, "grams": 150.0, "source": "voice"},
    )
    asked = QuestionAsked(
        at=60.0, reason="twin", command=cmd.AddWater(Amount(15)), source="voice", expires=70.0
    )
    assert json.loads(event_text(asked)[1])["command"] == {
        "AddWater": {"amount": {"value": 15.0, "unit": "g", "exact": False}}
    }


def test_numbers_without_end_are_never_written() -> None:
    with pytest.raises(ValueError, match=r"^at: inf is not a number$"):
        event_text(LoudnessSet(at=float("inf"), steps=1))


def test_an_event_of_a_newer_version_is_reported_by_its_sequence() -> None:
    with pytest.raises(JournalError) as caught:
        read_event(17, "DoughSung", "{}")
    assert str(caught.value) == (
        "entry 17 is a 'DoughSung', which is not known here; read it with the version of crumbcall that "
        "wrote it"
    )
    with pytest.raises(JournalError) as caught:
        read_event(18, "LotNamed", '{"at": 1.0, "lot": "7", "mill": "A"}')
    assert str(caught.value) == (
        "entry 18, a LotNamed: field 'mill' of LotNamed is not known; "
        "read it with the version of crumbcall that wrote it"
    )
    assert not isinstance(caught.value, DamagedEvent)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('{"at": 1.0}', "field 'lot' of LotNamed is missing"),
        ('{"at": "one", "lot": "7"}', "at: 'one' is not a number"),
        ('{"at": true, "lot": "7"}', "at: True is not a number"),
        ('{"at": 1.0, "lot": 7}', "lot: 7 is not of type str"),
        ("[1]", "[1] is not an object of LotNamed"),
    ],
)
def test_a_damaged_event_is_reported_by_its_sequence(text: str, found: str) -> None:
    with pytest.raises(DamagedEvent) as caught:
        read_event(19, "LotNamed", text)
    assert str(caught.value) == f"entry 19, a LotNamed, is damaged: {found}"


@pytest.mark.parametrize("text", ["", "{", '{"at": 1.0, "lot": "7"', "nonsense", b"\xff\xfe"])
def test_text_that_is_not_json_is_damage(text: str | bytes) -> None:
    with pytest.raises(DamagedEvent, match=r"^entry 20, a LotNamed, is damaged: "):
        read_event(20, "LotNamed", text)


def test_a_field_that_came_later_takes_its_default() -> None:
    text = state_text(State())
    older = {key: value for key, value in json.loads(text).items() if key != "pace"}
    assert read_state(json.dumps(older)) == State()


@pytest.mark.parametrize("text", ["", "{}x", '{"timers": 5}', '{"batch": {"number": 1}}', '{"mood": "calm"}'])
def test_a_snapshot_that_can_not_be_read_is_none(text: str) -> None:
    assert read_state(text) is None


def test_snapshots_are_tied_to_the_code_that_made_them() -> None:
    assert len(codec.code_that_made_it()) == 64


def test_every_module_that_evolve_can_reach_is_in_the_digest() -> None:
    graph = grimp.build_graph("assistant", cache_dir=None)
    reached = graph.find_upstream_modules("assistant.batch.record.evolving.evolve") | {
        "assistant.batch.record.evolving.evolve"
    }
    files = {str(file) for file in codec.files_that_shape_the_state()}
    outside = {name for name in reached if str(import_module(name).__file__) not in files}
    assert outside == {"assistant.errors"}, "errors only carry words"


@dataclass(frozen=True)
class Odd:
    """Shapes at their edges."""

    phase: Phase
    pair: tuple[int, str]
    many: tuple[int, ...]


@pytest.mark.parametrize(
    ("found", "line"),
    [
        ({"phase": "gone", "pair": [1, "a"], "many": []}, "phase: 'gone' is not a Phase"),
        ({"phase": "idle", "pair": [1], "many": []}, "pair: 1 values where there should be 2"),
        ({"phase": "idle", "pair": [1, "a"], "many": "12"}, "many: '12' is not a list"),
        ({"phase": "idle", "pair": [1, "a"], "many": [1.5]}, "many: 1.5 is not of type int"),
    ],
)
def test_a_wrong_shape_is_reported_by_its_place(found: object, line: str) -> None:
    hint: Any = Odd
    with pytest.raises(ShapeError) as caught:
        decoder(hint)(found)
    assert str(caught.value) == line


def test_a_type_without_a_shape_is_our_bug() -> None:
    for hint in (dict[str, int], int | str):
        with pytest.raises(TypeError, match="there is no JSON shape"):
            decoder(hint)

"""The one reader of TOML: whatever is in a file, it is a struct of usable values or one line."""

import math
from pathlib import Path
from typing import Annotated, Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Meta, Struct

from assistant.config.flour_lots import StockedLot
from assistant.config.language.scene import Scene
from assistant.config.language.walk_throughs import WrittenWalk
from assistant.config.recipes import Recipe
from assistant.config.settings import Settings
from assistant.config.toml_file import Place, read_toml, take_struct
from assistant.config.toml_words import ALLOWED, WAS, allowed, did_you_mean, number, shown
from assistant.errors import GrammarError, SettingsError

KINDS: list[type[Struct]] = [Settings, Recipe, StockedLot, WrittenWalk, Scene]
PLACE = Place(Path("kitchen.toml"))


def keys_of(kind: type[Struct]) -> set[str]:
    """All keys that a struct and those inside it know."""
    found: set[str] = set()
    for field in msgspec.structs.fields(kind):
        found.add(field.name)
        if isinstance(field.type, type) and issubclass(field.type, Struct):
            found |= keys_of(field.type)
    return found


SCALARS = st.one_of(
    st.booleans(), st.integers(), st.floats(), st.text(max_size=6), st.dates(), st.just("ring"), st.just(31)
)


def tables(kind: type[Struct]) -> st.SearchStrategy[dict[str, Any]]:
    """Tables as a TOML file may have them, with keys of the struct and others."""
    keys = st.sampled_from([*sorted(keys_of(kind)), "", "x y", "salt\n"])
    values = st.recursive(
        SCALARS,
        lambda inside: st.lists(inside, max_size=2) | st.dictionaries(keys, inside, max_size=3),
        max_leaves=6,
    )
    return st.dictionaries(keys, values, max_size=4)


def leaves(value: Any) -> list[Any]:
    if isinstance(value, Struct):
        value = msgspec.structs.asdict(value)
    if isinstance(value, dict):
        value = list(value.values())
    return [leaf for one in value for leaf in leaves(one)] if isinstance(value, list) else [value]


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_is_written_is_a_struct_or_one_line(kind: type[Struct]) -> None:
    @settings(max_examples=40)
    @given(tables(kind))
    def check(table: dict[str, Any]) -> None:
        taken, said = None, ""
        try:
            taken = take_struct(PLACE, table, kind)
        except SettingsError as refused:
            said = str(refused)
        if taken is None:
            assert said.startswith("kitchen.toml: ")
            assert len(said.splitlines()) == 1
        else:
            assert isinstance(taken, kind)
            assert all(math.isfinite(leaf) for leaf in leaves(taken) if isinstance(leaf, float))

    check()


class Jug(Struct, frozen=True):
    """A struct with one key of each sort."""

    name: str
    grams: Annotated[float, number("mass", 1, 10, "g")] = 2
    weight: Annotated[float, Meta(ge=0, le=9, extra={WAS: ("heft", "load")})] | None = None
    marks: dict[str, Annotated[int, Meta(ge=0, le=9)]] = {}
    colours: Annotated[list[str], Meta(max_length=2, extra={ALLOWED: "two names"})] = []


@pytest.mark.parametrize("old", ["heft", "load"])
def test_each_old_name_of_a_key_is_read(old: str) -> None:
    assert take_struct(PLACE, {"name": "a", old: 3}, Jug) == Jug("a", weight=3.0)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({}, "name is missing; write text in quotes."),
        (
            {"name": "a", "heft": 3, "weight": 4},
            "has heft, an old name of weight, which is there too; remove heft.",
        ),
        (
            {"name": "a", "heft": 3, "load": 4},
            "has load, an old name of weight, which is there too; remove load.",
        ),
        (
            {"name": "a", "weight": 10},
            "weight = 10, allowed is a number from 0 to 9; change it, or remove the line.",
        ),
        (
            {"name": "a", "grams": True},
            "grams = true, allowed is a number from 1 to 10 g; change it, or remove the line to get 2.",
        ),
        (
            {"name": "a", "marks": {"x y": 10}},
            '[marks] "x y" = 10, allowed is a whole number from 0 to 9; change it.',
        ),
        (
            {"name": "a", "colours": ["r", "g", "b"]},
            'colours = ["r", "g", "b"], allowed is two names; change it.',
        ),
        ({"name": "a", "gram": 3}, 'there is no key "gram"; did you mean grams? Write that, or remove it.'),
        (
            {"name": "a", "zzz": {}},
            "there is no section [zzz]; remove it; there are name, grams, weight, marks, colours.",
        ),
    ],
)
def test_a_refusal_says_where_what_is_allowed_and_what_to_do(table: dict[str, Any], said: str) -> None:
    with pytest.raises(SettingsError) as caught:
        take_struct(PLACE, table, Jug)
    assert str(caught.value) == f"kitchen.toml: {said}"


def test_what_is_not_written_is_as_in_the_base() -> None:
    assert take_struct(PLACE, {"grams": 3}, Jug, Jug("a", weight=4)) == Jug("a", 3.0, 4)


def test_a_missing_file_is_nothing_or_an_error(tmp_path: Path) -> None:
    file = tmp_path / "none.toml"
    assert read_toml(file, optional=True) == {}
    with pytest.raises(GrammarError) as caught:
        read_toml(file, GrammarError)
    assert str(caught.value) == (
        f"{file} can't be read (No such file or directory); make it a readable file, or move it away."
    )


def test_long_lists_of_names_are_cut() -> None:
    assert did_you_mean("xyz", ["a", "b"]) == "there are a, b."
    assert did_you_mean("xyz", [f"n{i}" for i in range(30)]).endswith(", n19 ...")


def test_a_value_is_shown_as_toml_has_it_in_one_line() -> None:
    assert [shown(value) for value in (True, 3.50, "a\nb", {"x": 1}, 7)] == [
        "true",
        "3.5",
        '"a b"',
        "a section",
        "7",
    ]
    assert len(shown("x" * 500)) == 60


def test_what_is_allowed_follows_from_the_type() -> None:
    assert [allowed(field.type) for field in msgspec.structs.fields(Jug)] == [
        "text in quotes",
        "a number from 1 to 10 g",
        "a number from 0 to 9",
        "a section of keys and values",
        "two names",
    ]

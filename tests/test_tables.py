"""Tables keyed by the words of a Literal or an Enum hold all of them."""

import importlib
import pkgutil
from collections.abc import Iterator
from enum import Enum
from typing import Any, Literal, get_args, get_origin, get_type_hints

import pytest

import assistant

IN_TWO = {"GRAMS_PER": "MILLILITRES_PER", "MILLILITRES_PER": "GRAMS_PER"}
"""Tables that share the words between them: units of mass, and units of volume."""


def keyed_by_words() -> Iterator[Any]:
    """Every dict at the head of a module whose annotation names a Literal or an Enum as its keys."""
    for info in pkgutil.walk_packages(assistant.__path__, "assistant."):
        if info.name == "assistant.__main__":
            continue
        module = importlib.import_module(info.name)
        for name, hint in get_type_hints(module).items():
            key = get_args(hint)[0] if get_origin(hint) is dict else None
            words: tuple[Any, ...] = ()
            if get_origin(key) is Literal:
                words = get_args(key)
            elif isinstance(key, type) and issubclass(key, Enum):
                words = tuple(key)
            if words and isinstance(vars(module).get(name), dict):
                yield pytest.param(module, name, words, id=f"{info.name}.{name}")


@pytest.mark.parametrize(("module", "name", "words"), list(keyed_by_words()))
def test_a_table_holds_every_word(module: Any, name: str, words: tuple[Any, ...]) -> None:
    keys = set(vars(module)[name])
    if name in IN_TWO:
        keys |= set(vars(module)[IN_TWO[name]])
    assert keys == set(words)


def test_such_tables_are_found() -> None:
    assert len(list(keyed_by_words())) > 5

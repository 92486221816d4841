"""Sentences by which a phrase or a name is tried: its slots filled with what cooks say there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.batch.record.commands import Command
from assistant.nlu import Grammar
from assistant.nlu.own import Kind, OwnName, OwnPhrase
from assistant.ports import Asking

FILLED: Mapping[str, tuple[str, str]] = {
    "amount": ("one fifty", "two kilos"),
    "time": ("ten minutes", "ninety seconds"),
    "percent": ("thirty one", "thirty two point five"),
    "count": ("twelve", "forty"),
    "lot": ("four seven one", "twelve"),
    "recipe": ("egg", "spinach"),
    "shape": ("rigatoni", "penne"),
    "timer": ("three", "sauce"),
}
"""What is said in each slot."""

_OF_A_NAME: Mapping[Kind, tuple[str, ...]] = {
    "timer": ("timer {} ten minutes", "stop {} timer"),
    "shape": ("new die {}", "cook {}"),
    "recipe": ("recipe {}",),
    "walk": ("{}",),
    "cook": ("{} is cooking", "the cook is {}"),
    "lot": ("lot {}",),
}


@dataclass(frozen=True, slots=True)
class Sample:
    """A sentence with what it means."""

    text: str
    means: Command
    asking: Asking = Asking.NOTHING


def of_phrase(grammar: Grammar, phrase: OwnPhrase) -> list[Sample]:
    """Sentences with a phrase."""
    texts = [phrase.said, phrase.said]
    for slot, values in FILLED.items():
        texts = [text.replace(f"{{{slot}}}", value) for text, value in zip(texts, values, strict=True)]
    return _understood(grammar, texts, phrase.asking)


def of_name(grammar: Grammar, name: OwnName) -> list[Sample]:
    """Sentences with a name."""
    said = name.said.removeprefix("the ") if name.kind == "timer" else name.said
    return _understood(grammar, [text.format(said) for text in _OF_A_NAME[name.kind]], Asking.NOTHING)


def _understood(grammar: Grammar, texts: Sequence[str], asking: Asking) -> list[Sample]:
    found = ((text, grammar.parse(text, asking=asking)) for text in dict.fromkeys(texts))
    return [Sample(text, means, asking) for text, means in found if means is not None]

"""Phrases and names of a kitchen, in words that can be said; what can't be is refused in one line."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from assistant.config.flour_lots import as_said
from assistant.config.language.own_words import OwnRow
from assistant.config.toml_words import did_you_mean
from assistant.errors import GrammarError
from assistant.nlu.tokens import tokens
from assistant.ports import Asking

Kind = Literal["timer", "shape", "recipe", "walk", "cook", "lot"]
KINDS: tuple[Kind, ...] = get_args(Kind)
MOST_WORDS = 10
_SLOT = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class OwnName:
    """A name that the kitchen gave, with what it is a name of."""

    kind: Kind
    said: str
    of: str
    """The timer, shape, recipe, walk-through, cook or lot itself."""
    where: str
    """Its place, for messages."""


@dataclass(frozen=True, slots=True)
class OwnPhrase:
    """A phrase that the grammar took."""

    said: str
    means: str
    asking: Asking
    """When it may be said."""


@dataclass(frozen=True, slots=True)
class Own:
    """All that a kitchen adds to the grammar."""

    names: tuple[OwnName, ...] = ()
    """Names from any file of the kitchen."""
    name_rows: tuple[OwnRow, ...] = ()
    """Names from `words.toml`, as written."""
    phrases: tuple[OwnRow, ...] = ()


@dataclass(frozen=True, slots=True)
class Slotted:
    """Words with slots between them."""

    parts: tuple[str, ...]
    """Words, and slots in braces, in order."""

    @property
    def slots(self) -> tuple[str, ...]:
        """Names of its slots, in order."""
        return tuple(part[1:-1] for part in self.parts if part.startswith("{"))

    @property
    def words(self) -> tuple[str, ...]:
        """Its words."""
        return tuple(part for part in self.parts if not part.startswith("{"))


def slotted(text: str, slots: Collection[str]) -> Slotted:
    """Words and slots of a phrase. Raises GrammarError: what is wrong, without the place."""
    parts: list[str] = []
    end = 0
    for found in _SLOT.finditer(text):
        name = found[1].strip()
        if name not in slots:
            hint = did_you_mean(name, sorted(slots)) if slots else "this grammar has none."
            raise GrammarError(f"there is no slot {{{name}}}; {hint}")
        parts += (*sayable(text[end : found.start()]), f"{{{name}}}")
        end = found.end()
    parts += sayable(text[end:])
    whole = Slotted(tuple(parts))
    if not whole.words:
        raise GrammarError("there is no word in it; say what it is, not the value alone.")
    if len(parts) > MOST_WORDS:
        raise GrammarError(f"it has {len(parts)} words, allowed are {MOST_WORDS}; make it shorter.")
    if len(set(whole.slots)) < len(whole.slots):
        raise GrammarError("it has a slot twice; use each once.")
    return whole


def sayable(text: str) -> list[str]:
    """The words of a text. Raises GrammarError where something in it is no word."""
    words: list[str] = []
    for token in tokens(text):
        if not token.label or not token.text[0].isalpha():
            raise GrammarError(
                f'"{token.text or text.strip()}" is not a word; write letters, and numbers as they are said.'
            )
        words.append(token.text)
    return words


def named(row: OwnRow, known: Mapping[Kind, Collection[str]]) -> OwnName:
    """The name that a row of `[names]` gives; `known`: what there is of each kind.

    Raises GrammarError: what is wrong, without the place.
    """
    kind, of = _kind(row.means, known)
    if not sayable(row.said):
        raise GrammarError("there is no word in it; write what is said.")
    if kind == "lot":
        of = as_said(of)
    elif kind == "timer" and not of:
        of = row.said
    elif kind != "timer" and of not in known.get(kind, ()):
        raise GrammarError(f'there is no {kind} "{of}"; {did_you_mean(of, sorted(known.get(kind, ())))}')
    if not of:
        raise GrammarError(f"the {kind} is missing; write {kind} and its name.")
    return OwnName(kind, row.said, of, row.where)


def _kind(means: str, known: Mapping[Kind, Collection[str]]) -> tuple[Kind, str]:
    """Kind and thing of what a name means; where the kind is not written, the only one that it can be."""
    first, _, rest = means.partition(" ")
    for kind in KINDS:
        if first == kind:
            return kind, rest.strip()
    fitting: list[Kind] = [kind for kind in KINDS if means in known.get(kind, ())]
    if not fitting and any(sign.isdigit() for sign in means):
        fitting = ["lot"]
    if len(fitting) != 1:
        raise GrammarError(f'"{means}" does not say what it is; begin with {", ".join(KINDS[:-1])} or lot.')
    return fitting[0], means

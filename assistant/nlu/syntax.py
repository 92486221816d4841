"""What a grammar file is made of, in the words of the JSpeech Grammar Format: rules and their expansions."""

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.errors import GrammarError

NULL, VOID = "NULL", "VOID"
"""The rules that the format defines: matched by saying nothing, and never matched."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word to be said."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Reference:
    """Another rule, by name."""

    rule: str
    line: int


@dataclass(frozen=True, slots=True)
class Tagged:
    """An expansion, then its tag."""

    item: "Expansion"
    tag: str
    line: int


@dataclass(frozen=True, slots=True)
class Sequence:
    """All items, one after the other."""

    items: tuple["Expansion", ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """Any one of the items."""

    items: tuple["Expansion", ...]


@dataclass(frozen=True, slots=True)
class Optional:
    """The item or nothing."""

    item: "Expansion"


@dataclass(frozen=True, slots=True)
class Repeat:
    """The item, over and over."""

    item: "Expansion"
    least: int
    """0 or 1: how often it must be said."""


Expansion = Word | Reference | Tagged | Sequence | Alternatives | Optional | Repeat


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of a grammar."""

    name: str
    public: bool
    """Whether it may be said by itself."""
    body: Expansion
    line: int
    """Line of the file in which it begins."""
    examples: tuple[str, ...]
    """Values of the `@example` tags of its documentation comment."""


@dataclass(frozen=True, slots=True)
class Source:
    """A grammar file that was read."""

    file: str
    """Its name for messages."""
    rules: dict[str, Rule]
    """Rules by name."""

    def error(self, line: int, problem: str) -> GrammarError:
        """Error whose text names the file and the line."""
        return GrammarError(f"{self.file}, line {line}: {problem}")


def parts(item: Expansion) -> Iterator[Expansion]:
    """An expansion and all that it is made of."""
    yield item
    match item:
        case Tagged(inner) | Optional(inner) | Repeat(inner):
            yield from parts(inner)
        case Sequence(items) | Alternatives(items):
            for inner in items:
                yield from parts(inner)

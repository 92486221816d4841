"""A typed line cut into words and the numbers among them, each with its unit: "a kilo and a half" is one."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from assistant.nlu.construction import NUMBER
from assistant.nlu.tokens import Token
from assistant.ports import Asking

KINDS = {Asking.AMOUNT: "#g", Asking.TIME: "#s", Asking.PERCENT: "#%", Asking.COUNT: "#"}
"""Slot whose value a number can be -> its kind; one that fits several is a plain number."""
PLAIN = "#"
LONGEST = 9
"""Words of a number with its unit, at most: "two and three quarters of a kilo" has seven."""
_BEFORE_UNIT = frozenset("a an half quarter couple hundred kilo".split())  # noqa: SIM905
"""Words that begin a number without being one."""
_END = frozenset("half quarter quarters hundred thousand percent % second seconds sec secs min mins".split())  # noqa: SIM905
_ALSO_UNITS = frozenset("minute minutes hour hours kilo kilos".split())  # noqa: SIM905


@dataclass(frozen=True, slots=True)
class Part:
    """A word of a line, or a number with its unit."""

    kind: str
    """The word as the grammar knows it, or the kind of number."""
    words: tuple[str, ...]
    """As written."""

    @property
    def is_number(self) -> bool:
        """Whether it is a number: only these kinds begin so."""
        return self.kind.startswith(PLAIN)


class Numbers:
    """Finds numbers.

    `fits`: whether words are a value of a slot; `counting`: words that numbers are made of; `units`: those
    that stand behind them.
    """

    def __init__(
        self, fits: Callable[[str, Asking], bool], counting: Collection[str], units: Collection[str]
    ) -> None:
        self._fits = fits
        numbers = {word for word in counting if fits(word, Asking.COUNT)}
        self._begin = numbers | _BEFORE_UNIT
        self._end = numbers | _END | (set(counting) & _ALSO_UNITS) | set(units)
        self._known: dict[str, str | None] = {}

    def parts(self, said: Sequence[Token]) -> list[Part]:
        """The line in parts, the longest numbers that can be found in it whole."""
        found: list[Part] = []
        place = 0
        while place < len(said):
            part = self._at(said, place) or Part(said[place].label, (said[place].text,))
            found.append(part)
            place += len(part.words)
        return found

    def _at(self, said: Sequence[Token], place: int) -> Part | None:
        """The longest number that begins here."""
        if not (_is_figure(said[place]) or said[place].label in self._begin):
            return None
        for end in range(min(len(said), place + LONGEST), place, -1):
            if not (_is_figure(said[end - 1]) or said[end - 1].label in self._end):
                continue
            words = tuple(token.text for token in said[place:end])
            kind = self._kind(" ".join(words))
            if kind is not None:
                return Part(kind, words)
        return None

    def _kind(self, text: str) -> str | None:
        if text not in self._known:
            self._known[text] = self._looked_up(text)
        return self._known[text]

    def _looked_up(self, text: str) -> str | None:
        for spelled in (text, f"a {text}"):
            kinds = [kind for asking, kind in KINDS.items() if self._fits(spelled, asking)]
            if kinds:
                return kinds[0] if len(kinds) == 1 else PLAIN
        return None


def one_thing(parts: Sequence[Part]) -> list[Part]:
    """The line where "one" alone stands for a thing, as in "a new one"."""
    return [Part("one", part.words) if part.words == ("one",) else part for part in parts]


def _is_figure(token: Token) -> bool:
    return token.label == NUMBER or token.text.isdigit()

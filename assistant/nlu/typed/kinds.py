"""Which kind of command a line is, or talk: naive Bayes on many ways to say each.

After McCallum and Nigam 1998, "A comparison of event models for naive Bayes text classification": whether a
term is there counts, not how often. The share of a kind's ways that have a term is drawn towards its share
in all kinds, so that what few ways say proves little, and words of all kinds prove nothing.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from math import log

from assistant.batch.record.command_object import command_object
from assistant.batch.record.commands import Command, Together
from assistant.nlu.typed.terms import weight_of

Kind = tuple[str, ...]
TALK: Kind = ("talk",)
"""What is no command."""
DRAWN = 0.5
"""As how many ways the share in all kinds counts."""
BEFORE_TALK, BEFORE_OTHERS = 6.0, 2.0
"""How far (nats) a kind must lie before talk, and before the next kind."""
_NAMES = frozenset("unit lot timer recipe shape die ingredient cook walk".split())  # noqa: SIM905
"""Keys of a command that may be anything of their kind."""


def kind_of(command: Command | None) -> Kind | None:
    """What a command is, whatever its numbers and names; of None talk, and None of several in one breath."""
    if command is None:
        return TALK
    if isinstance(command, Together):
        return None
    found = command_object(command)
    return tuple(
        f"{key}={value}"
        for key, value in found.items()
        if isinstance(value, str | bool) and key not in _NAMES
    )


class Kinds:
    """Finds the kind of a line; `ways`: kind -> the terms of each way to say it."""

    def __init__(self, ways: Mapping[Kind, Sequence[Collection[str]]]) -> None:
        having = {kind: Counter(term for terms in lines for term in terms) for kind, lines in ways.items()}
        shares: dict[str, float] = defaultdict(float)
        for kind, counts in having.items():
            for term, count in counts.items():
                shares[term] += count / len(ways[kind]) / len(ways)
        self._gains = {
            kind: {
                term: weight_of(term) * log(_share(count, len(ways[kind]), shares[term]) / shares[term])
                for term, count in counts.items()
            }
            for kind, counts in having.items()
        }
        self._lacks = {kind: log(DRAWN / (len(lines) + DRAWN)) for kind, lines in ways.items()}
        self._known = frozenset(shares)

    def of(self, terms: Collection[str]) -> Kind | None:
        """The kind of a line with these terms; None where none lies clearly before the others."""
        known = [term for term in terms if term in self._known]
        nats = {
            kind: sum(gains.get(term, weight_of(term) * self._lacks[kind]) for term in known)
            for kind, gains in self._gains.items()
        }
        talk = nats.pop(TALK, float("-inf"))
        if not nats:
            return None
        first, *others = sorted(nats, key=lambda kind: -nats[kind])
        if talk >= nats[first] + BEFORE_OTHERS:
            return TALK
        clear = not others or nats[first] >= nats[others[0]] + BEFORE_OTHERS
        return first if clear and nats[first] >= talk + BEFORE_TALK else None


def _share(count: int, ways: int, elsewhere: float) -> float:
    """Share of a kind's ways that have a term, drawn towards its share elsewhere."""
    return (count + DRAWN * elsewhere) / (ways + DRAWN)

"""What is said: random walks of the grammar's word graph, number twins over-represented, and kitchen talk.

Parts are disjoint: a sentence belongs to "tune" or "test" by a checksum of its text, whatever made it.
"""

import itertools
import random
import zlib
from collections.abc import Iterator
from dataclasses import fields
from typing import Literal

from assistant.batch.record.commands import Command, Incomplete
from assistant.dough.amounts import Amount
from assistant.nlu import Grammar
from assistant.ports import Asking, WordGraph
from tests.bench.finetune import spoken_numbers
from tests.bench.finetune.speech.phrases import Sentence, held_back
from tests.bench.finetune.spoken_numbers import TENS, UNITS

Part = Literal["tune", "test"]

TWINS = frozenset(spoken_numbers.TWINS)
_NUMBERS = frozenset([*UNITS, *TENS, "hundred", "thousand", "half"])
MOST_WORDS = 8


def part_of(text: str) -> Part:
    """The part of a sentence; with a number, the test part has what no network was trained with."""
    if _NUMBERS.intersection(text.split()):
        return "test" if held_back(Sentence(text, "number")) else "tune"
    return "test" if zlib.crc32(text.encode()) & 1 else "tune"


def walks(grammar: Grammar, part: Part, seed: int) -> Iterator[tuple[str, Command]]:
    """Endless distinct sentences: first words equally likely, then a walk.

    Unfinished commands are rare, and so are those without a figure.
    """
    luck = random.Random(f"walks {part} {seed}")
    graph = grammar.graph(Asking.NOTHING)
    after = _arcs(graph)
    seen: set[str] = set()
    while True:
        text = _walk(luck, graph, after)
        if text is None or text in seen or part_of(text) != part:
            continue
        command = grammar.parse(text)
        if command is None or (isinstance(command, Incomplete) and luck.random() < 0.85):
            continue
        if not _has_a_number(command) and luck.random() < 0.85:
            continue
        seen.add(text)
        yield text, command


def _has_a_number(command: Command) -> bool:
    """Whether a command carries a figure: what is misheard most, and matters most."""
    values = [getattr(command, one.name) for one in fields(command)]
    return any(isinstance(value, Amount | float | int) and not isinstance(value, bool) for value in values)


def _arcs(graph: WordGraph) -> dict[int, list[tuple[str, int]]]:
    after: dict[int, list[tuple[str, int]]] = {}
    for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
        after.setdefault(source, []).append((word, target))
    return after


def _walk(luck: random.Random, graph: WordGraph, after: dict[int, list[tuple[str, int]]]) -> str | None:
    state, words = 0, list[str]()
    while len(words) <= MOST_WORDS:
        if state in graph.final and (state not in after or luck.random() < 0.55):
            return " ".join(words)
        arcs = after[state]
        twins = any(word in TWINS for word, _ in arcs) and luck.random() < 0.5
        chosen = [arc for arc in arcs if arc[0] in TWINS] if twins else arcs
        word, state = luck.choice(chosen)
        words.append(word)
    return None


def kitchen_talk(grammar: Grammar, part: Part, count: int) -> list[str]:
    """Sentences of a kitchen that are not commands: talk, and near misses that begin or sound like one."""
    talk = [
        f"{one} {two}"
        for one, two in itertools.product(_BEGINNINGS, _ENDS)
        if part_of(f"{one} {two}") == part
    ]
    near = [
        f"{one} {two}"
        for one, two in itertools.product(_NEAR_BEGINNINGS, _NEAR_ENDS)
        if part_of(f"{one} {two}") == part
    ]
    luck = random.Random(f"talk {part}")
    chosen = luck.sample(talk, count * 2 // 3) + luck.sample(near, count - count * 2 // 3)
    assert all(grammar.parse(text, asking=Asking.ANSWER) is None for text in chosen)
    return luck.sample(chosen, len(chosen))


_BEGINNINGS = (
    "did you see", "somebody moved", "i still need", "please bring", "who took", "we are out of",
    "don't forget", "put a cloth over", "the supplier forgot", "could you hold", "nobody ordered",
    "i would rather have", "ask the porter about", "table nine is waiting for", "have you tasted",
    "let us talk about", "she dropped", "he wants more of", "it smells like", "keep an eye on",
    "we should clean", "there is something wrong with",
)  # fmt: skip
_ENDS = (
    "the parmesan", "the big knife", "my apron", "the delivery from yesterday", "those tomatoes",
    "the walk in fridge", "the guest in room twelve", "two crates of lemons",
    "the basil on the windowsill", "the radio", "that old pan", "the dishwasher", "your sister's wedding",
    "the football last night", "the eggs", "the butter", "the long table", "a glass of wine", "the bread",
    "the schedule for friday", "the new waiter", "the oven gloves",
)  # fmt: skip
_NEAR_BEGINNINGS = (
    "water", "mix", "crumb", "rest", "close", "poured", "tray", "timer", "scrap", "stop", "target", "add",
    "how much", "make that", "mixer", "help", "what's", "louder", "portions", "undo",
)  # fmt: skip
_NEAR_ENDS = (
    "the basil on the windowsill", "me a coffee please", "and then we go home",
    "for the guests in the garden", "is what my mother used to say", "the salad with oil and vinegar",
    "until the manager comes back", "as they did in the old kitchen", "before the lunch service",
    "with a wooden spoon", "on the top shelf", "costs more than last year",
)  # fmt: skip

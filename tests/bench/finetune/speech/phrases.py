"""Sentences to train and to test with: commands of the design, number twins, kitchen talk, random words.

Until a grammar is given, commands come from the small generator here; `from_graph` walks the real one.
All words are lower case, numbers spelled out as they are said.
"""

from __future__ import annotations

import tomllib
import zlib
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from tests.bench.finetune.speech.talk import FILLERS, TALK, WORDS
from tests.bench.finetune.spoken_numbers import (
    TENS,
    TWINS,
    UNITS,
    amount,
    below_hundred,
    digits,
    duration,
    lot_number,
    number,
    plain_amount,
)

if TYPE_CHECKING:
    from assistant.ports import WordGraph

_WORDS = tomllib.loads(Path(__file__).with_name("phrases.toml").read_text(encoding="utf-8"))
NEAR: dict[str, list[str]] = {
    word: [other.replace("_", " ") for other in near.split()] for word, near in _WORDS["near"].items()
}
"""Number words, and what each is misheard for, twins first; digits after a look at what earlier weights
misheard. Names of letters, and short words that turn a sentence round. Two words in place of one have "_"
between them in the file."""
LOST = frozenset(_WORDS["lost"].split())
"""Short words that were not heard at all, after a look at what earlier weights misheard."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """What is to be said."""

    text: str
    kind: str
    """`command` or `number` for a command, `talk` or `words` for anything else."""


FIXED: list[str] = _WORDS["fixed"].splitlines()
NAMES: list[str] = _WORDS["shapes"].split()
NUMBERED: list[str] = _WORDS["numbered"].splitlines()
LOAN_NAMES: list[str] = [name.strip() for name in _WORDS["loan_names"].split(",")]
"""Names of dishes and shapes from other languages, as kitchens use them (common practice, no source)."""
_CONTRAST: dict[str, list[str]] = {
    key: [part.strip() for part in text.split("|")] for key, text in _WORDS["contrast"].items()
}

_FRAMES: dict[str, list[str]] = {key: text.strip().splitlines() for key, text in _WORDS["frames"].items()}


def command(rng: Random) -> Sentence:
    """One command; the kind is `number` where a number was said."""
    way = rng.random()
    if way < 0.10:
        return Sentence(digits(rng, 1, 5 if way < 0.06 else 1), "number")
    if way < 0.26:
        return Sentence(rng.choice(FIXED), "command")
    if way < 0.30:
        return Sentence(
            rng.choice([f"new die {rng.choice(NAMES)}", f"timer {rng.choice(NAMES)} {duration(rng)}"]),
            "command",
        )
    if way < 0.68:
        return Sentence(f"{rng.choice(NUMBERED)} {amount(rng)}", "number")
    if way < 0.74:
        half = " point five" if rng.random() < 0.3 else ""
        return Sentence(
            f"target {below_hundred(rng.randint(26, 40))}{half}{' percent' if rng.random() < 0.4 else ''}",
            "number",
        )
    if way < 0.79:
        return Sentence(f"lot {lot_number(rng)}", "number")
    if way < 0.90:
        return Sentence(
            f"{rng.choice(['mix', 'rest', 'add', 'timer one', 'timer two'])} {duration(rng)}", "number"
        )
    if way < 0.94:
        return Sentence(f"portions {plain_amount(rng)}", "number")
    return Sentence(amount(rng), "number")


def named(name: str, rng: Random) -> Sentence:
    """A command with a name in it that no list has."""
    way = rng.random()
    if way < 0.3:
        return Sentence(f"timer {name} {duration(rng)}", "named")
    key = "timed_names" if way < 0.65 else "names"
    return Sentence(rng.choice(_FRAMES[key]).replace("@", name).replace("#", duration(rng)), "named")


def contrast(rng: Random) -> Sentence:
    """Sentences that differ from another in one short word: said or denied, on or off, with "oh" or "egg"."""

    def one(key: str) -> str:
        return rng.choice(_CONTRAST[key])

    way = rng.random()
    if way < 0.5:
        subject = one("subjects")
        verbs = "contracted" if subject in ("it", "that") and rng.random() < 0.4 else "verbs"
        verb = one(verbs)
        link = "" if verbs == "contracted" else " "
        degree = f" {one('degrees')}" if rng.random() < 0.25 else ""
        tail = f" {one('tails')}" if rng.random() < 0.35 else ""
        return Sentence(f"{subject}{link}{verb}{degree} {one('states')}{tail}", "command")
    if way < 0.66:
        lead = f"{one('leads')} " if rng.random() < 0.75 else ""
        return Sentence(f"{lead}{one('orders')}", "command")
    if way < 0.76:
        return Sentence(one("switches"), "command")
    if way < 0.84:
        return Sentence(one("eggs").replace("#", plain_amount(rng)), "number")
    if way < 0.92:
        return Sentence(f"{one('lots')} {lot_number(rng)}", "number")
    if way < 0.95:
        return Sentence(one("tries"), "command")
    if way < 0.97:
        twin = rng.choice(TWINS) if rng.random() < 0.6 else rng.choice(UNITS[2:10])
        return Sentence(one("inputs").replace("#", twin), "number")
    return Sentence(f"{rng.choice(NUMBERED)} {rng.choice(UNITS[1:10])} hundred", "number")


_LAST: list[tuple[WordGraph, dict[int, list[tuple[int, str]]]]] = []


def _onward(graph: WordGraph) -> dict[int, list[tuple[int, str]]]:
    """Arcs of an automaton by where they begin; those of the last one asked for are kept."""
    if not _LAST or _LAST[0][0] is not graph:
        arcs: dict[int, list[tuple[int, str]]] = {}
        for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
            arcs.setdefault(source, []).append((target, word))
        _LAST[:] = [(graph, arcs)]
    return _LAST[0][1]


def from_graph(graph: WordGraph, rng: Random, weight: dict[str, float] | None = None) -> Sentence:
    """A random walk through a grammar's automaton; `weight` favours words (number twins)."""
    arcs, state, said = _onward(graph), 0, []
    for _ in range(24):
        onward = arcs.get(state, [])
        if state in graph.final and (not onward or rng.random() < 0.6):
            break
        weights = [(weight or {}).get(word, 1.0) for _, word in onward]
        state, word = rng.choices(onward, weights)[0]
        said.append(word)
    if state not in graph.final:
        return from_graph(graph, rng, weight)
    numbers = {*UNITS, *TENS, "hundred", "thousand", "half"}
    return Sentence(" ".join(said), "number" if numbers.intersection(said) else "command")


def talk(rng: Random) -> Sentence:
    """What is said in a kitchen and is not a command: filled templates with numbers, or random words."""
    if rng.random() < 0.5:
        text = rng.choice(TALK)
        while "{" in text:
            name = text[text.index("{") + 1 : text.index("}")]
            new = number(rng.randint(2, 200), rng) if name == "n" else rng.choice(FILLERS[name])
            text = text.replace("{" + name + "}", new, 1)
        return Sentence(text, "talk")
    words = [rng.choice(WORDS) for _ in range(rng.randint(1, 6))]
    if rng.random() < 0.35:
        words.insert(
            rng.randrange(len(words) + 1),
            rng.choice([*UNITS, *TENS, "water", "mix", "batch", "time", "stop", "crumb"]),
        )
    return Sentence(" ".join(words), "words")


def held_back(sentence: Sentence) -> bool:
    """Whether a sentence with a number is for testing only: one in six, for good, by a checksum of its words.

    Not a number alone, nor a fixed command that holds one ("zero the jug"): all of these are trained with.
    """
    more = " " in sentence.text and sentence.text not in FIXED
    return more and sentence.kind == "number" and zlib.crc32(sentence.text.encode()) % 6 == 0


def rivals(text: str, rng: Random, n: int = 3) -> list[tuple[int, str]]:
    """At most `n` changes of a word to one it is misheard for, twins first.

    Which word, and what for ("": it is lost).
    """
    words = text.split()
    places = [place for place, word in enumerate(words) if word in NEAR]
    twins = [place for place in places if words[place] in TWINS]
    found: dict[tuple[int, str], None] = {}
    for turn in range(n if places else 0):
        first = turn == 0 and bool(twins)
        place = rng.choice(twins if first else places)
        near = [*NEAR[words[place]], *([""] if words[place] in LOST and len(words) > 1 else [])]
        found[place, near[0] if first else rng.choice(near)] = None
    return list(found)


def test_sentences(graph: WordGraph, rng: Random, n: int) -> list[Sentence]:
    """Sentences of a grammar to test with: three in four have a held-back number, twins favoured."""
    found: list[Sentence] = []
    while len(found) < n:
        sentence = from_graph(graph, rng, dict.fromkeys(TWINS, 4.0))
        wanted = "number" if len(found) % 4 else "command"
        if (
            sentence.kind == wanted
            and len(sentence.text.split()) <= 8
            and (held_back(sentence) or wanted == "command")
        ):
            found.append(sentence)
    return found


def texts(graph: WordGraph, rng: Random, n: int) -> list[Sentence]:
    """Sentences for the engines: walks of the grammar, the small generators', talk; none held back."""
    twins = dict.fromkeys(TWINS, 3.0)
    found: list[Sentence] = []
    while len(found) < n:
        way = rng.random()
        if way < 0.38:
            sentence = from_graph(graph, rng, twins)
        elif way < 0.53:
            sentence = command(rng)
        elif way < 0.73:
            sentence = contrast(rng)
        else:
            sentence = talk(rng)
        if not held_back(sentence) and len(sentence.text.split()) <= 10:
            found.append(sentence)
    return found


def sentences(rng: Random, n: int, commands: float = 0.6) -> list[Sentence]:
    """`n` sentences, this share of them commands; the same seed gives the same list."""
    return [command(rng) if rng.random() < commands else talk(rng) for _ in range(n)]

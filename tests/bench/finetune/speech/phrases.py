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

if TYPE_CHECKING:
    from assistant.ports import WordGraph

_WORDS = tomllib.loads(Path(__file__).with_name("phrases.toml").read_text(encoding="utf-8"))
UNITS: list[str] = _WORDS["units"].split()
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
TEENS = UNITS[13:]
TWINS = [*TEENS, "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
"""Numbers that are misheard for each other; common practice, no source."""
NEAR: dict[str, list[str]] = {
    word: [other.replace("_", " ") for other in near.split()] for word, near in _WORDS["near"].items()
}
"""Number words, and what each is misheard for, twins first; digits after a look at what earlier weights
misheard. Names of letters, and short words that turn a sentence round. Two words in place of one have "_"
between them in the file."""
LETTERS = "bcdfghjklmnpqrstuvwxyz"
"""Letters of a lot's number that the grammar takes by their names."""
LOST = frozenset(_WORDS["lost"].split())
"""Short words that were not heard at all, after a look at what earlier weights misheard."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """What is to be said."""

    text: str
    kind: str
    """`command` or `number` for a command, `talk` or `words` for anything else."""


def below_hundred(n: int) -> str:
    """0..99 in words."""
    if n < 20:
        return UNITS[n]
    tens = TENS[n // 10 - 2]
    return tens if n % 10 == 0 else f"{tens} {UNITS[n % 10]}"


def number(n: int, rng: Random) -> str:
    """1..9999 in one of the ways cooks say it ("one fifty", "one hundred and fifty", "one five zero")."""
    if n < 100:
        return below_hundred(n)
    way = rng.random()
    if n < 1000:
        hundreds, rest = UNITS[n // 100], n % 100
        if rest == 0:
            return "a hundred" if n == 100 and way < 0.3 else f"{hundreds} hundred"
        if rest >= 10 and way < 0.4:
            return f"{hundreds} {below_hundred(rest)}"
        if way < 0.55:
            return " ".join(("oh" if d == "0" and rng.random() < 0.4 else UNITS[int(d)]) for d in str(n))
        return f"{hundreds} hundred {'and ' if rng.random() < 0.5 else ''}{below_hundred(rest)}"
    thousands, rest = n // 1000, n % 1000
    if rest % 100 == 0 and rest and way < 0.4:
        return f"{below_hundred(n // 100)} hundred"
    said = f"{below_hundred(thousands)} thousand"
    if rest == 0:
        return said
    return f"{said} {'and ' if rest < 100 or rng.random() < 0.2 else ''}{number(rest, rng)}"


def _twin_number(rng: Random) -> str:
    """A number that has a twin in it, alone or inside a larger one."""
    twin = rng.choice(TWINS)
    way = rng.random()
    if way < 0.45:
        return twin
    if way < 0.65:
        return f"{rng.choice(UNITS[1:10])} {twin}"
    if way < 0.85:
        return f"{rng.choice(UNITS[1:10])} hundred {'and ' if rng.random() < 0.5 else ''}{twin}"
    if twin in TEENS:
        return f"{twin} hundred"
    return f"{twin} {rng.choice(UNITS[1:10])}"


def _digits(rng: Random, low: int, high: int) -> str:
    return " ".join(rng.choice([*UNITS[:10], "oh"]) for _ in range(rng.randint(low, high)))


def _plain_amount(rng: Random) -> str:
    way = rng.random()
    if way < 0.45:
        return _twin_number(rng)
    if way < 0.8:
        return number(rng.randrange(5, 1000, 5), rng)
    return number(rng.randint(1, 2999), rng)


def _kilos(rng: Random) -> str:
    unit = rng.choice(["kilo", "kilos", "litres", "pounds", "kilograms"])
    one = unit.removesuffix("s")
    small = rng.choice(UNITS[1:8])
    return rng.choice(
        [
            f"half a {one}",
            f"a {one} and a half",
            f"a {one}",
            f"{small} and a half {unit}",
            f"{small} point {rng.choice(UNITS[:10])} {unit}",
            f"{small} {unit}",
            f"point {rng.choice(UNITS[1:10])} {unit}",
        ]
    )


def amount(rng: Random) -> str:
    """An amount as it is said: mostly a bare number (grams), sometimes with its unit."""
    way = rng.random()
    if way < 0.6:
        return _plain_amount(rng)
    if way < 0.85:
        return f"{_plain_amount(rng)} {rng.choice(['grams', 'grams', 'gram', 'millilitres', 'ounces'])}"
    return _kilos(rng)


def duration(rng: Random) -> str:
    """A time as it is said."""
    n = rng.choice([*TWINS[:14], below_hundred(rng.randint(1, 59)), rng.choice(UNITS[1:])])
    way = rng.random()
    if way < 0.55:
        return f"{n} minutes" if n != "one" else "one minute"
    if way < 0.75:
        return f"{n} seconds"
    if way < 0.9:
        return rng.choice(
            [
                "half a minute",
                "a minute and a half",
                "an hour",
                "half an hour",
                "a quarter of an hour",
                "two and a half minutes",
            ]
        )
    return f"{n} minutes {rng.choice(TWINS)} seconds"


def lot_number(rng: Random) -> str:
    """A lot's number: digits, or a letter's name before or behind figures."""
    if rng.random() < 0.4:
        return _digits(rng, 2, 5)
    figures = _digits(rng, 1, 3) if rng.random() < 0.6 else below_hundred(rng.randint(1, 99))
    letter = rng.choice(LETTERS)
    return f"{letter} {figures}" if rng.random() < 0.6 else f"{figures} {letter}"


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
        return Sentence(_digits(rng, 1, 5 if way < 0.06 else 1), "number")
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
        return Sentence(f"portions {_plain_amount(rng)}", "number")
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
        return Sentence(one("eggs").replace("#", _plain_amount(rng)), "number")
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

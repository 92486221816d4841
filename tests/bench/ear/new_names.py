"""Names that kitchens add: timers of `words.toml`, recipes of their own, shapes of their settings."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.nlu import Grammar
from assistant.ports import SPEECH_RATE, Asking
from tests.bench.ear.beside import TWO, among, label, machines
from tests.bench.ear.ears import Ear
from tests.bench.ear.figures import Figures, grouped, outcomes, share
from tests.bench.ear.people import PARTS, Split, sampled
from tests.bench.hearing.hearing import OUTCOMES, Case, Result, as_meant, listen, outcome
from tests.bench.hearing.report import table
from tests.bench.hearing.sounds import BEFORE_S
from tests.bench.hearing.voices import Speaker
from tests.bench.phrasings.clips import spoken

FILE = Path(__file__).with_name("names.toml")
A_KITCHEN = 20
"""Names that one kitchen adds."""
SENTENCES = {"timer": "timer {} ten minutes", "recipe": "recipe {}", "shape": "new die {}"}


@dataclass(frozen=True)
class Name:
    """A name that a kitchen gives."""

    said: str
    sort: str
    """The list that it was drawn from."""


@dataclass(frozen=True)
class Called:
    """A sentence with a new name as one ear hears it."""

    ear: str
    kind: str
    sort: str
    snr: str
    said: str
    heard: str
    right: bool
    """Whether the best sentence means what was meant."""
    outcome: str


def new_names(grammar: Grammar, most: int | None = None) -> tuple[list[Name], list[str]]:
    """Names that the grammar lacks, at most so many, and those that it has all words of by now."""
    found = tomllib.loads(FILE.read_text(encoding="utf-8"))
    names = [Name(said, sort) for sort, some in found.items() for said in some]
    words = {word for asking in Asking for word in grammar.listened(asking).words}
    known = [name.said for name in names if words.issuperset(name.said.split())]
    new = [name for name in names if name.said not in known]
    return sampled(new, most, "names"), known


def kitchens(names: Sequence[Name], size: int = A_KITCHEN) -> Iterator[tuple[Name, ...]]:
    """The names by kitchen, lists mixed."""
    turns = -(-len(names) // size)
    for turn in range(turns):
        yield tuple(names[turn::turns])


def kinds_of(place: int) -> tuple[str, str]:
    """What the name at a place of its kitchen is a name of: a timer, and a recipe or a shape."""
    return "timer", "recipe" if place % 2 == 0 else "shape"


def files(names: Sequence[Name]) -> tuple[dict[str, str], str]:
    """What a kitchen with these names writes: files beside the settings, and lines of the settings."""
    timers = "".join(f'"{name.said}" = "timer"\n' for name in names)
    written = {"words.toml": f"[names]\n{timers}"}
    shapes = []
    for place, name in enumerate(names):
        if "recipe" in kinds_of(place):
            recipe = f'name = "{name.said}"\nallergens = ["wheat"]\n[flour]\nsemolina = 100\n'
            written[f"recipes/{name.said.replace(' ', '_')}.toml"] = recipe
        else:
            shapes.append(f"{name.said} 300")
    return written, f'[cooking]\nown = "{", ".join(shapes)}"\n'


def calls(
    ears: Sequence[Ear],
    names: Sequence[Name],
    voices: Mapping[str, Sequence[Speaker]],
    speech: Path,
    split: Split,
    sounds: Path | None,
) -> Iterator[Called]:
    """Every name in its sentences by a voice of each engine, in quiet and noise, by every ear."""
    around = machines(PARTS[split], speech)
    for number, some in enumerate(kitchens(names)):
        said = [
            (SENTENCES[kind].format(name.said), kind, name)
            for place, name in enumerate(some)
            for kind in kinds_of(place)
        ]
        homes = [(ear, ear.kitchen(f"names {number}", *files(some))) for ear in ears]
        heard = [(ear, home, home.recogniser()) for ear, home in homes]
        for turn, (engine, own) in enumerate(voices.items()):
            voice = own[number % len(own)]
            pcms = spoken(voice, [text for text, _, _ in said], sounds)
            for place, ((text, kind, name), pcm) in enumerate(zip(said, pcms, strict=True)):
                seed = 10_000 * number + 1000 * turn + place
                for snr in TWO:
                    clip = among(pcm, snr, around, seed)
                    end_s = BEFORE_S + len(pcm) / SPEECH_RATE
                    for ear, home, recogniser in heard:
                        meant = home.grammar.parse(text)
                        if meant is None:
                            raise ValueError(f'a kitchen can\'t say "{text}": {home.words.problems}')
                        case = Case(text, meant, clip, engine, "", label(snr), end_s=end_s)
                        result = listen(home, recogniser, case)
                        became = outcome(home, result, as_meant)
                        yield _called(ear.name, kind, name.sort, result, became)


def _called(ear: str, kind: str, sort: str, result: Result, became: str) -> Called:
    case = result.case
    right = any(found.meaning == case.command for found in result.found)
    heard = "; ".join(found.text for found in result.found)
    return Called(ear, kind, sort, case.snr, case.text, heard, right, became)


def names_table(results: Sequence[Called], figures: Figures, by: str = "kind") -> str:
    """Shares heard right, and of every outcome, by ear and noise, and by kind or sort of the name."""
    rows = []
    for (ear, snr, kind), some in grouped(
        results, lambda one: (one.ear, one.snr), lambda one: one.kind if by == "kind" else one.sort
    ):
        heard = share(some, lambda one: one.right)
        shares = outcomes(some, lambda one: one.outcome)
        rows.append([ear, snr, kind, len(some), heard, *shares.values()])
        if kind == "all":
            figures[ear, f"names heard {snr}"] = heard
            figures[ear, f"names right {snr}"] = shares["right"]
            figures[ear, f"names wrong {snr}"] = shares["wrong"]
    return table(["ear", "noise", by, "n", "heard right %", *(f"{which} %" for which in OUTCOMES)], rows)

"""What a kitchen can say beyond the grammar that ships: `words.toml`, and what its other files name."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.asr.phones import without_accents
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import StockedLot
from assistant.config.hearing_file import COOKS, known_cooks
from assistant.config.home import Home
from assistant.config.language.own_words import FILE, OwnRow, OwnWords, plain, read_own_words
from assistant.config.language.talk import FILE as TALK_FILE
from assistant.config.language.talk import read_talk
from assistant.config.language.walk_throughs import FILE as WALKS_FILE
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.errors import GrammarError
from assistant.nlu import Grammar
from assistant.nlu.own import KitchenGrammar, Own, OwnName, OwnPhrase, load_kitchen_grammar
from assistant.nlu.typed import TALK, Paraphrase, read_paraphrases

PARAPHRASES = "paraphrases.txt"
"""File beside a grammar with other ways to say its sentences."""


@dataclass(frozen=True, slots=True)
class KitchenWords:
    """The kitchen's own words, as read and as the grammar took them."""

    file: OwnWords
    """What `words.toml` says."""
    own: Own
    """All that was to be added to the grammar."""
    woven: KitchenGrammar
    unread: tuple[str, ...] = ()
    """Lists of paraphrases and of talk that can't be read: a line each. They are left out."""

    @property
    def grammar(self) -> Grammar:
        """The grammar with all that can be used."""
        return self.woven.grammar

    @property
    def problems(self) -> tuple[str, ...]:
        """What of `words.toml` and of the lists beside the grammar is left out: a line each."""
        return (*self.file.problems, *self.woven.problems, *self.unread)


def load_words(
    home: Home,
    settings: Settings,
    *,
    recipes: Recipes,
    stock: Mapping[str, StockedLot],
    walks: Collection[str],
    file: OwnWords | None = None,
    keep_in: Path | None = None,
) -> KitchenWords:
    """The kitchen's words woven into its grammar; `file`: what `words.toml` would say, None: what it says.

    `keep_in`: folder where the result is kept for the next start; None: nowhere.
    Raises GrammarError where the grammar itself can't be used.
    """
    found = read_own_words(home.config / FILE) if file is None else file
    if settings.recogniser.engine == "phoneme":
        found = _heard(found)
    names = tuple(_names(home, settings, recipes, stock, walks))
    own = Own(names, found.names, found.phrases)
    language = settings.station.language
    woven = load_kitchen_grammar(home.language_file("commands.jsgf", language), own, keep_in)
    unread: list[str] = []
    woven.grammar.also_said(tuple(_ways(home, language, woven.phrases, unread)))
    return KitchenWords(found, own, woven, tuple(unread))


def _ways(home: Home, language: str, phrases: Iterable[OwnPhrase], unread: list[str]) -> Iterator[Paraphrase]:
    """What is typed otherwise than the grammar has it: by the language, by the kitchen; and talk.

    `unread` gets a line for each file that can't be read.
    """
    for file in home.language_files(PARAPHRASES, language):
        try:
            yield from read_paraphrases(file)
        except GrammarError as problem:
            unread.append(str(problem))
    for row in phrases:
        if "{" not in row.said + row.means:
            yield Paraphrase(row.said, row.means)
    try:
        talk = read_talk(home.language_file(TALK_FILE, language)).sentences
    except GrammarError as problem:
        unread.append(str(problem))
    else:
        yield from (Paraphrase(sentence, TALK) for sentence in talk)


def _heard(words: OwnWords) -> OwnWords:
    """Own words without those for which the built-in recogniser can't guess a sound."""

    def unheard(row: OwnRow) -> str | None:
        letters = (word for word in re.sub(r"\{.*?\}", " ", row.said).split() if word not in words.sounds)
        return next((word for word in letters if not without_accents(word).isascii()), None)

    problems = [
        f'{row.where}: how "{word}" sounds can\'t be guessed; write it into [sounds].'
        for row in (*words.phrases, *words.names)
        if (word := unheard(row)) is not None
    ]
    return replace(
        words,
        phrases=tuple(row for row in words.phrases if unheard(row) is None),
        names=tuple(row for row in words.names if unheard(row) is None),
        problems=(*words.problems, *problems),
    )


def _names(
    home: Home,
    settings: Settings,
    recipes: Recipes,
    stock: Mapping[str, StockedLot],
    walks: Collection[str],
) -> Iterable[OwnName]:
    """Names that the kitchen's files have; the grammar leaves out what it knows itself.

    Their places are as seen from the home: what is kept for the next start holds wherever that is.
    """
    timers = f"{home.settings_file.name} [timers] names"
    yield from (OwnName("timer", name, name, timers) for name in settings.timers.own)
    shapes = f"{home.settings_file.name} [cooking] own"
    yield from (OwnName("shape", shape, shape, shapes) for shape in settings.cooking.own_s)
    yield from (OwnName("shape", shape, shape, OWN_FOLDER) for shape in recipes.own_shapes)
    yield from (OwnName("recipe", name, name, OWN_FOLDER) for name in recipes.plans)
    yield from (OwnName("walk", name, name, WALKS_FILE) for name in walks)
    who = f"{home.settings_file.name} [station] cooks"
    cooks = (settings.station.cook, *settings.station.named_cooks)
    yield from (OwnName("cook", plain(one), one, who) for one in cooks if one)
    kept = (one for one in known_cooks(home.settings_file) if one not in cooks)
    yield from (OwnName("cook", plain(one), one, COOKS) for one in kept)
    spelled = (lot for lot in stock if not any(sign.isdigit() for sign in lot))
    yield from (OwnName("lot", lot, lot, LOTS_FILE) for lot in spelled)

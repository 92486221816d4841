"""Composition root: builds the parts of a station from a home folder and its settings."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Self

from assistant.app import adapters
from assistant.app.cooks_voice import NOBODYS, CooksVoice, cooks_voice
from assistant.app.group.membership import lots_of
from assistant.app.paper.print_apart import PrintApart, print_of_station
from assistant.app.paper.printers import can_be_printed
from assistant.app.words.kitchen_words import KitchenWords, load_words
from assistant.asr import Parts, build_recogniser
from assistant.asr.lexicon import Pronunciations
from assistant.asr.otherwise.in_other_words import Ways
from assistant.batch.record.command_tags import TAGS
from assistant.batch.record.commands import Command, MachineQuestion
from assistant.batch.record.events import Event
from assistant.batch.record.printing.print_jobs import PrintJob
from assistant.batch.record.printing.print_kinds import PrintResult
from assistant.batch.record.rules import BatchRules, DayFigures, Known
from assistant.batch.record.steps import WalkThrough
from assistant.config.day_plan import FILE as PLAN_FILE
from assistant.config.day_plan import WatchedPlan, read_plan, with_plan
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import StockedLot, read_stock
from assistant.config.hearing_file import known_cooks
from assistant.config.home import Home
from assistant.config.language.practice_prompts import FILE as PROMPTS_FILE
from assistant.config.language.practice_prompts import read_prompts
from assistant.config.language.pronunciations import FILE as PRONUNCIATIONS_FILE
from assistant.config.language.pronunciations import OTHER_WORDS, read_pronunciations
from assistant.config.language.walk_throughs import FILE as WALKS_FILE
from assistant.config.language.walk_throughs import load_walks
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.errors import JournalError
from assistant.hearing.attention_word import Attentive, asked_for, without
from assistant.hearing.early_decision import Patience, PatientListener, Recognise, SentenceEnds
from assistant.journal.held import HeldJournal
from assistant.nlg.names import FILE as NAMES_FILE
from assistant.nlg.names import read_names
from assistant.nlg.replies import Replies
from assistant.nlg.speech import Speech, number_words
from assistant.nlu import Grammar
from assistant.ports import Asking, Clock, Endpointer, Recogniser, Voice
from assistant.sheets.day_account import day_figures, day_of
from assistant.station.alive.heartbeat import FILE as HEARTBEAT_FILE
from assistant.station.alive.heartbeat import Heartbeat
from assistant.station.forecasts import FlourBook
from assistant.station.learned.die_book import DieBook
from assistant.station.practice_station import PracticeStation
from assistant.station.station import Scale, Turn

_NEEDS_NO_WORD = TAGS[MachineQuestion]
"""Rule of the grammar whose sentences are heard without an attention word."""


@dataclass(frozen=True, slots=True)
class Application:
    """A home folder, what was read from it, and the language data that applies in it."""

    home: Home
    settings: Settings
    grammar: Grammar
    replies: Replies
    recipes: Recipes
    stock: Mapping[str, StockedLot]
    """Lots on the shelf, by lot."""
    walks: Mapping[str, WalkThrough]
    """Walk-throughs, by name."""
    words: KitchenWords
    """The kitchen's own words, those that the grammar took among them."""
    cook: CooksVoice = NOBODYS
    """Whose voice the recogniser is fitted to."""
    gluten_free_lots: frozenset[str] = frozenset()
    """Lots whose flour is known to have no gluten."""

    @property
    def rules(self) -> BatchRules:
        """The kitchen's rules of a batch."""
        return self.settings.rules

    def open_station(
        self, clock: Clock, scale: Scale | None = None, *, prints: bool = False
    ) -> tuple[PracticeStation, HeldJournal, Turn]:
        """Station with its journal, and what it has to say at its start. Raises JournalError.

        `scale`: None without a jug scale. `prints`: whether somebody carries out what it is asked to print.
        """
        self.home.make()
        clock = adapters.told_clock(clock)
        known = replace(self.known(clock), read_time=clock.read)
        if prints:
            known = replace(known, prints=can_be_printed(self.settings.printer))
        prompts = read_prompts(self.home.language_file(PROMPTS_FILE, self.settings.station.language))
        journal = HeldJournal.open(self.home.journal_file, clock, self.settings.station.id)
        state, last = journal.load()
        cook = state.cook or self.rules.cook or None
        voices = frozenset(known_cooks(self.home.settings_file)) - {cook}
        lots = lots_of(self.home, self.settings, journal)
        flour = FlourBook(lots, self.stock, clock.wall, self.rules.target_pct, known.recipes, cook)
        dies = DieBook(journal)

        def written(events: Sequence[Event]) -> None:
            flour.follow(events)
            dies.follow(events)

        station = PracticeStation(
            journal,
            clock,
            self.rules,
            self.grammar,
            self.replies,
            state,
            prompts=prompts,
            known=replace(
                known, lots=flour, dies=dies, voices=voices, day=partial(_day, journal, clock, self.stock)
            ),
            plan=WatchedPlan(self.home.data / PLAN_FILE, clock),
            written=written,
            held=journal,
            tell=clock.tell,
            scale=scale,
            attention_word=bool(self.settings.recogniser.attention_word),
        )
        started = station.start(self.heartbeat(clock).latest(last))
        if self.words.problems:
            left_out = station.announce("words_left_out")
            started = replace(started, replies=(*started.replies, *left_out.replies))
        if journal.moved_aside is not None:
            damaged = station.announce("journal_moved", "ring_firm")
            started = replace(started, replies=(*damaged.replies, *started.replies))
        for key, count in (("journal_aside", journal.kept_aside), ("journal_lost", journal.lost)):
            if count:
                told = station.announce(key, "ring_firm", count=count)
                started = replace(started, replies=(*told.replies, *started.replies))
        return station, journal, started

    def listening_for(self, cook: str | None) -> Self:
        """The same for another cook, who was named by voice; None: nobody was."""
        if cook is None or cook == self.cook.name:
            return self
        return replace(self, cook=cooks_voice(self.home, self.settings, cook))

    def known(self, clock: Clock) -> Known:
        """What the kitchen wrote down: recipes, walk-throughs, times in the water, and the current plan."""
        known = Known(recipes=self.recipes.plans, walks=self.walks, cooking_s=self.settings.cooking_s)
        sizes = {lot: one.size_um for lot, one in self.stock.items() if one.size_um is not None}
        known = replace(known, today=partial(_today, clock))
        known = replace(known, granulation=sizes, gluten_free_lots=self.gluten_free_lots)
        plan = read_plan(self.home.data / PLAN_FILE)
        return with_plan(known, plan, clock.wall() if clock.wall_trusted() else None)

    def print_job(self, clock: Clock) -> Callable[[PrintJob], PrintResult]:
        """Prints a job of the station's, and says how it ended."""
        return partial(print_of_station, self.home, PrintApart(self.settings.printer.limit_s), clock)

    def heartbeat(self, clock: Clock) -> Heartbeat:
        """The station's sign of life on disk."""
        return Heartbeat(self.home.data / HEARTBEAT_FILE, clock)

    def recogniser(self, engine: str | None = None, model: Path | None = None) -> Recogniser[Command]:
        """The recogniser of the settings, or of this engine and model."""
        chosen = self.settings.recogniser
        word = chosen.attention_word
        parts: Parts[Command] = Parts(
            layer=asked_for(self.grammar.listened, word, self.grammar.graph_of(_NEEDS_NO_WORD))
            if word
            else self.grammar.listened,
            meaning=lambda text, asking: self.grammar.parse(without(text, word), asking=asking),
            pronunciations=self.pronunciations,
            model_path=model or (Path(chosen.model) if chosen.model else None),
            rules=adapters.letter_to_sound(),
            # Who has to say a word first is not listened to without it.
            ways=None
            if word
            else Ways(self.grammar.ways, self.grammar.number_words, self.grammar.meant_by_words),
            weights=chosen.weights,
            cook=self.cook.cook,
        )
        for asking in Asking:
            # A slot is heard from its first question on: its words are not put together while somebody waits.
            parts.layer(asking)
        built = build_recogniser(engine or chosen.engine, parts)
        return Attentive(built, word) if word else built

    def pronunciations(self, fine_tuned: Path | None) -> Pronunciations:
        """How words sound; `fine_tuned`: file of the words with which the weights were fine-tuned."""
        language = self.settings.station.language
        found = read_pronunciations(self.home.language_file(PRONUNCIATIONS_FILE, language), fine_tuned)
        others = read_pronunciations(self.home.language_file(OTHER_WORDS, language))
        return replace(found, others=others, own={**found.own, **self.words.file.sounds})

    def endpointer(self) -> Endpointer:
        """Finds where somebody speaks."""
        return adapters.endpointer(self.settings)

    def listener(self, recognise: Recognise) -> PatientListener:
        """Endpointer and recogniser together, as patient as the settings say."""
        wanted = self.settings.microphone
        return PatientListener(
            self.endpointer(),
            recognise,
            SentenceEnds(self.grammar.continuations, self.grammar.parse),
            Patience(wanted.closed_silence_s, wanted.open_silence_s),
            act_above=self.settings.recogniser.act_above,
        )

    def voice(self) -> Voice:
        """The station's voice, with what it says often made once."""
        return adapters.station_voice(self.settings)


def open_application(home: Home, keep_in: Path | None = None) -> Application:
    """Read settings, grammar, wording, recipes, lots and walk-throughs of a home.

    `keep_in`: folder for what takes long to make of them; None: that of the home.
    Raises a CrumbcallError, one clear line, for the first that can't be read.
    """
    settings = Settings.load(home.settings_file)
    language = settings.station.language
    speech = Speech(number_words(language), read_names(home.language_files(NAMES_FILE, language)))
    replies = Replies.load(*home.language_files("replies.toml", language), speech=speech)
    pantry = Pantry.load(home.config / OWN_FILE)
    recipes = Recipes.load(pantry, home.config / OWN_FOLDER)
    walks = load_walks(home.walk_files(WALKS_FILE, language))
    stock = read_stock(home.config / LOTS_FILE)
    kept = keep_in or home.kept_folder
    words = load_words(home, settings, recipes=recipes, stock=stock, walks=walks, keep_in=kept)
    cook = cooks_voice(home, settings)
    free = frozenset(lot for lot, one in stock.items() if pantry.allergens.has_no_gluten(one.flour))
    return Application(home, settings, words.grammar, replies, recipes, stock, walks, words, cook, free)


def _today(clock: Clock) -> str | None:
    """The kitchen's day; None where the clock was not set."""
    return day_of(clock.wall()) if clock.wall_trusted() else None


def _day(journal: HeldJournal, clock: Clock, stock: Mapping[str, StockedLot]) -> DayFigures | None:
    """What was made today; None where the journal can't be read."""
    try:
        return day_figures(journal.batches(), journal.batch, clock.wall(), stock=stock)
    except JournalError:
        return None

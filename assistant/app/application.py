"""Composition root: builds the parts of a station from a home folder and its settings."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from assistant.asr import build_recogniser
from assistant.batch.record.announcements import Tone
from assistant.batch.record.commands import Command
from assistant.batch.record.rules import BatchRules, Known
from assistant.batch.record.steps import WalkThrough
from assistant.clock import RealClock, ScriptedClock
from assistant.config.day_plan import FILE as PLAN_FILE
from assistant.config.day_plan import read_plan
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import StockedLot, read_stock
from assistant.config.home import Home
from assistant.config.language.pronunciations import FILE as PRONUNCIATIONS_FILE
from assistant.config.language.pronunciations import read_pronunciations
from assistant.config.language.walk_throughs import FILE as WALKS_FILE
from assistant.config.language.walk_throughs import load_walks
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.settings import Settings
from assistant.hearing.attention_word import Attentive, asked_for, without
from assistant.hearing.early_decision import Patience, PatientEar, Recognise, SentenceEnds
from assistant.journal.store import SqliteJournal
from assistant.nlg.replies import Replies
from assistant.nlu import Grammar, load_grammar
from assistant.ports import Clock, Endpointer, Recogniser, Sound, Voice
from assistant.station.forecasts import FlourBook
from assistant.station.heartbeat import FILE as HEARTBEAT_FILE
from assistant.station.heartbeat import Heartbeat
from assistant.station.station import Station, Turn


@dataclass(frozen=True, slots=True)
class House:
    """A home folder, its settings, and the language data that counts in it."""

    home: Home
    settings: Settings
    grammar: Grammar
    replies: Replies
    recipes: Recipes
    stock: Mapping[str, StockedLot]
    walks: Mapping[str, WalkThrough]

    @property
    def rules(self) -> BatchRules:
        """The house rules of a batch."""
        return self.settings.rules

    def open_station(self, clock: Clock) -> tuple[Station, SqliteJournal, Turn]:
        """Station with its journal, and what it has to say at its start."""
        self.home.make()
        journal = SqliteJournal.open(self.home.journal_file, clock, self.settings.station.id)
        state, last = journal.load()
        plan = read_plan(self.home.data / PLAN_FILE)
        flour = FlourBook(journal, self.stock, clock.wall, self.rules.target_pct)
        station = Station(
            journal,
            clock,
            self.rules,
            self.grammar,
            self.replies,
            state,
            Known(
                flour, self.recipes.plans, self.walks, self.settings.cooking_s, plan.batches if plan else ()
            ),
            flour.follow,
        )
        started = station.start(self.heartbeat(clock).latest(last))
        if journal.moved_aside is not None:
            damaged = station.tell("journal_moved", "ring_firm")
            started = replace(started, replies=(*damaged.replies, *started.replies))
        return station, journal, started

    def heartbeat(self, clock: Clock) -> Heartbeat:
        """The station's sign of life on disk."""
        return Heartbeat(self.home.data / HEARTBEAT_FILE, clock)

    def recogniser(self, engine: str | None = None, model: Path | None = None) -> Recogniser:
        """The recogniser of the settings, or of this engine and model."""
        chosen = self.settings.recogniser
        word = chosen.attention_word
        built = build_recogniser(
            engine or chosen.engine,
            asked_for(self.grammar.graph, word) if word else self.grammar.graph,
            partial(read_pronunciations, self.home.language_file(PRONUNCIATIONS_FILE)),
            meaning=lambda text: self.grammar.parse(without(text, word), asking="weight") or text,
            model_path=model or (Path(chosen.model) if chosen.model else None),
            ear=chosen.weights,
            max_cost=chosen.max_cost,
        )
        return Attentive(built, word) if word else built

    def endpointer(self) -> Endpointer:
        """Finds where somebody speaks."""
        from assistant.hearing.endpointing import Endpointing, SpeechEndpointer

        return SpeechEndpointer(Endpointing(end_silence_s=self.settings.microphone.end_silence_s))

    def ear(self, recognise: Recognise) -> PatientEar:
        """Endpointer and recogniser together, as patient as the settings say."""
        wanted = self.settings.microphone

        def parse(text: str) -> Command | None:
            return self.grammar.parse(text, asking=True)

        return PatientEar(
            self.endpointer(),
            recognise,
            parse,
            SentenceEnds(self.grammar.graph(True), parse),
            Patience(wanted.closed_silence_s, wanted.open_silence_s),
            min_margin=self.settings.recogniser.min_margin,
        )

    def voice(self) -> Voice:
        """The station's voice, with what it says often made once."""
        from assistant.tts.cache import CachedVoice
        from assistant.tts.espeak import EspeakVoice

        wanted = self.settings.voice
        return CachedVoice(EspeakVoice(voice=wanted.name, rate=wanted.rate))


def open_house(home: Home) -> House:
    """Read settings, grammar, wording, recipes, lots and walk-throughs of a home; errors are one clear line each."""
    settings = Settings.load(home.settings_file)
    grammar = load_grammar(home.language_file("commands.jsgf"), settings.timers.own)
    replies = Replies.load(*home.language_files("replies.toml"))
    recipes = Recipes.load(Pantry.load(home.config / OWN_FILE), home.config / OWN_FOLDER)
    walks = load_walks(home.language_files(WALKS_FILE))
    return House(home, settings, grammar, replies, recipes, read_stock(home.config / LOTS_FILE), walks)


def scripted_clock(*, trusted: bool = False) -> ScriptedClock:
    """A clock that moves when told, a boot of its own; its wall clock begins at the machine's."""
    return ScriptedClock(wall=RealClock().wall(), boot=f"scripted-{uuid.uuid4()}", trusted=trusted)


def tones() -> dict[Tone, Sound]:
    """The sound of every tone."""
    from assistant.audio import tones as made

    return {
        "taken": made.tone(made.Tone.TAKEN),
        "question": made.tone(made.Tone.QUESTION),
        "ring": made.tone(made.Tone.RING_GENTLE),
        "ring_firm": made.tone(made.Tone.RING_FIRM),
    }

"""Tests words before they are written: refuses what is ambiguous, compares, and tries them by ear."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import msgspec

from assistant.app.adapters import voice
from assistant.app.application import Application
from assistant.app.words.kitchen_words import load_words
from assistant.app.words.nearness import Likeness, likeness
from assistant.app.words.new_sentences import Sample, of_name, of_phrase
from assistant.app.words.trial import COOKS, Speak, Trial, tried
from assistant.asr.likeness import ways_of, written
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.asr.phones import distance, english, shared_out
from assistant.audio.resample import resample
from assistant.batch.record.commands import Command
from assistant.config.language.own_words import OwnRow, OwnWords
from assistant.config.language.talk import FILE as TALK_FILE
from assistant.config.language.talk import read_talk
from assistant.errors import VoiceError
from assistant.ports import SPEECH_RATE, Sound

MOST_OTHERS, MOST_TALK = 4, 3
"""Sentences that sound like the new ones and are tried too, at most."""
MOST_SPELLINGS = 4
"""Pronunciations of a new word, at most: the more there are, the more other words it sounds like."""
FAR_SPELLING = 0.5
"""A spelling that the network writes counts where no larger share of the phones differs from the guess."""


@dataclass(frozen=True, slots=True)
class Assessment:
    """What was found about a kitchen's own words."""

    samples: tuple[Sample, ...]
    """Sentences with them."""
    like: tuple[Likeness, ...]
    """What each of these sounds like."""
    trial: Trial | None
    """What came of saying them; None where they were not said."""
    silent: str = ""
    """Why they were not said."""


class Bench:
    """Two stations, without the words in question and with them."""

    def __init__(self, app: Application, without: OwnWords, candidate: OwnWords) -> None:
        listening = msgspec.structs.replace(app.settings.recogniser, attention_word="")
        settings = msgspec.structs.replace(app.settings, recogniser=listening)
        self._app = replace(app, settings=settings)
        self.before = self._with(without)
        self.after = self._with(candidate)

    @cached_property
    def _hearing_before(self) -> PhonemeRecogniser[Command]:
        return _built_in(self.before)

    @cached_property
    def _hearing_after(self) -> PhonemeRecogniser[Command]:
        return _built_in(self.after)

    def _with(self, file: OwnWords) -> Application:
        app = self._app
        if file == app.words.file:
            return app
        words = load_words(
            app.home, app.settings, recipes=app.recipes, stock=app.stock, walks=app.walks, file=file
        )
        return replace(app, words=words, grammar=words.grammar)

    @property
    def refused(self) -> tuple[str, ...]:
        """What the candidate can't be used for: a line each."""
        known = self.before.words.problems
        return tuple(line for line in self.after.words.problems if line not in known)

    def samples(self, said: Iterable[str]) -> list[Sample]:
        """Sentences with these phrases and names."""
        wanted, woven = frozenset(said), self.after.words.woven
        grammar = self.after.grammar
        phrases = (of_phrase(grammar, phrase) for phrase in woven.phrases if phrase.said in wanted)
        names = (of_name(grammar, name) for name in woven.names if name.said in wanted)
        return [sample for found in (*phrases, *names) for sample in found]

    def assess(self, samples: Sequence[Sample], speak: Speak | None) -> Assessment:
        """What these sentences sound like; said too, where there is a voice to say them."""
        before = self._hearing_before
        talk = read_talk(self._app.home.language_file(TALK_FILE, self._app.settings.station.language))
        like = tuple(likeness(before, sample, talk) for sample in samples)
        if speak is None:
            return Assessment(tuple(samples), like, None)
        others = {near.text: near for one in like for near in one.commands if near.meaning is not None}
        nearest = sorted(others.values(), key=lambda near: near.phones)[:MOST_OTHERS]
        spoken = {near.text: near.phones for one in like for near in one.talk[:MOST_TALK]}
        try:
            trial = tried(
                samples,
                [Sample(near.text, near.meaning, samples[0].asking) for near in nearest if near.meaning],
                sorted(spoken, key=lambda text: spoken[text])[:MOST_TALK],
                before=before,
                after=self._hearing_after,
                act_above=self._app.settings.recogniser.act_above,
                speak=speak,
            )
        except VoiceError as problem:
            return Assessment(tuple(samples), like, None, str(problem))
        return Assessment(tuple(samples), like, trial)

    def new_words(self, samples: Sequence[Sample]) -> list[str]:
        """Words of these sentences whose sound is only guessed."""
        lexicon = self._hearing_before.lexicon
        words = dict.fromkeys(word for sample in samples for word in sample.text.split())
        return [word for word in words if word not in lexicon]

    def spellings(self, samples: Sequence[Sample], speak: Speak) -> dict[str, tuple[str, ...]]:
        """How the new words of these sentences sound: the guess, and what the network writes of each.

        It writes a word otherwise alone than in its sentence: both are listened to. Raises VoiceError.
        """
        recogniser, new = self._hearing_before, self.new_words(samples)
        guesses = {
            word: tuple(english(way) for way in ways_of(recogniser.lexicon, recogniser.network.symbols, word))
            for sample in samples
            for word in sample.text.split()
        }
        found = {word: list(guesses[word]) for word in new}
        for text in (*new, *(sample.text for sample in samples)):
            words = text.split()
            for name, rate in COOKS:
                sound = resample(speak(text, name, rate), SPEECH_RATE)
                heard = english(written(recogniser.network, sound))
                for word, way in zip(
                    words, shared_out(heard, [guesses[one][0] for one in words]), strict=True
                ):
                    if word in found and way and distance(way, guesses[word][0]) <= FAR_SPELLING * len(way):
                        found[word].append(way)
        return {
            word: tuple(" ".join(way) for way, _ in Counter(ways).most_common(MOST_SPELLINGS))
            for word, ways in found.items()
        }


def with_phrase(words: OwnWords, row: OwnRow, *, name: bool, sounds: dict[str, tuple[str, ...]]) -> OwnWords:
    """Own words with a row more, in the place of one with the same words."""
    kept = without_said(words, row.said)
    names, phrases = (*kept.names, *([row] if name else ())), (*kept.phrases, *(() if name else [row]))
    return replace(kept, names=names, phrases=phrases, sounds={**kept.sounds, **sounds})


def without_said(words: OwnWords, said: str) -> OwnWords:
    """Own words without what is said so."""
    return replace(
        words,
        phrases=tuple(row for row in words.phrases if row.said != said),
        names=tuple(row for row in words.names if row.said != said),
    )


def built_in_voice(text: str, name: str, rate: int) -> Sound:
    """A text by a voice of this machine. Raises VoiceError."""
    return voice(name, rate).speak(text)


def _built_in(app: Application) -> PhonemeRecogniser[Command]:
    found = app.recogniser("phoneme")
    assert isinstance(found, PhonemeRecogniser), "without an attention word it is the recogniser itself"
    return found

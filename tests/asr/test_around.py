"""The loud part of an utterance, and hearing a command among softer voices."""

import math
from functools import partial
from pathlib import Path
from typing import cast

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.asr import Parts, build_recogniser
from assistant.asr.around import GUARD, SMOOTH, around_the_loud, frame_levels_db
from assistant.asr.confidence import Confidence
from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.network import FRAME, PhonemeNetwork
from assistant.asr.phoneme import Expert, PhonemeRecogniser
from assistant.asr.search.judging import DecodingLimits
from assistant.batch.record.commands import Command
from assistant.config.language.pronunciations import read_pronunciations
from assistant.config.resources import grammar_folder
from assistant.nlu.grammar import load_grammar
from assistant.ports import Pcm, Recogniser, Recognition, Sound
from assistant.testing.audio import own_words, sentence_graph
from tests.asr.speech import espeak

CROWD = (
    ("who took the long table to the garden", "en-gb+m2"),
    ("she dropped two crates of lemons", "en-us+f1"),
    ("please bring the radio back here", "en-us+m6"),
)


@pytest.fixture(scope="module")
def recogniser() -> Recogniser[Command]:
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    pronunciations = partial(read_pronunciations, grammar_folder() / "pronunciations.toml")
    parts: Parts[Command] = Parts(
        layer=grammar.layer,
        meaning=lambda text, asking: grammar.parse(text, asking=asking),
        pronunciations=pronunciations,
    )
    return build_recogniser("phoneme", parts)


def among_voices(text: str, below_db: float) -> Sound:
    """A command with 0.3 s before and 1.2 s after it, and three others talking, this far below."""
    said = espeak(text).pcm.astype(float)
    whole = np.concatenate([np.zeros(4_800), said, np.zeros(19_200)])
    others = np.sum([np.resize(espeak(*one).pcm, len(whole)) for one in CROWD], axis=0, dtype=float)
    loud = np.sqrt(np.mean(np.square(said)))
    others *= loud * 10 ** (-below_db / 20) / np.sqrt(np.mean(np.square(others)))
    return Sound(np.clip(whole + others, -32768, 32767).astype(np.int16))


def test_levels_are_those_of_the_frames() -> None:
    pcm: Pcm = np.concatenate([np.full(50 * FRAME, 1000), np.full(50 * FRAME, 100)]).astype(np.int16)

    levels = frame_levels_db(pcm, 100)

    # ten times the amplitude is 20 dB
    assert levels[25] - levels[75] == pytest.approx(20.0, abs=0.01)
    assert len(frame_levels_db(pcm, 103)) == 103
    assert len(frame_levels_db(pcm, 0)) == len(around_the_loud(np.zeros(0))) == 0


def test_only_what_is_before_and_after_is_softer() -> None:
    levels = np.concatenate(
        [np.full(40, 50.0), np.full(30, 60.0), np.full(30, 40.0), np.full(30, 60.0), np.full(40, 50.0)]
    )

    around = around_the_loud(levels)

    assert np.flatnonzero(~around).tolist() == list(range(40 - GUARD, 130 + GUARD))
    assert not around_the_loud(np.full(60, 30.0)).any()
    assert SMOOTH % 2 == 1


class Fixed:
    """A network that hears `mix`, A B, in frames 60 to 79 and somebody's B A B A around it."""

    blank, boundary = 2, 3

    def log_probs(self, _sound: Sound) -> NDArray[np.float32]:
        path = [1, 0] * 20 + [2] * 20 + [0] * 10 + [1] * 10 + [2] * 20 + [0, 1] * 20
        probability = np.full((len(path), 4), 0.01)
        probability[np.arange(len(path)), path] = 0.97
        return np.asarray(np.log(probability), np.float32)


def heard_among(below_db: float) -> Recognition[str]:
    """What a recogniser makes of `Fixed` when the frames around the word are this far below it."""
    level = np.full(140, 10_000.0 * 10 ** (-below_db / 20))
    level[60:80] = 10_000.0
    pcm: Pcm = np.repeat(level, FRAME).astype(np.int16)
    recogniser = PhonemeRecogniser(
        [
            Expert(
                cast(PhonemeNetwork, Fixed()), Lexicon(Pronunciations(Path(), {"mix": ["a b"]}), ("a", "b"))
            )
        ],
        lambda _: sentence_graph(["mix"]),
        meaning=own_words,
        confidence=Confidence(2.5, -1.0, 0.0, 0.0, 0.0, 0.0),
        limits=DecodingLimits(talk=math.inf),
    )
    return recogniser.recognise(Sound(pcm))


def test_softer_voices_around_a_command_cost_nothing() -> None:
    assert not heard_among(0.0).accepted
    assert not heard_among(5.0).accepted
    assert heard_among(14.0).accepted
    assert heard_among(14.0).cost < heard_among(5.0).cost / 4


@pytest.mark.parametrize("text", ["water the basil", "mix me a coffee", "crumb for the guests"])
def test_a_command_that_goes_on_as_talk_is_not(recogniser: Recogniser[Command], text: str) -> None:
    assert not recogniser.recognise(among_voices(text, 14.0)).accepted

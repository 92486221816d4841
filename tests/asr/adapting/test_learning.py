"""What is learned of a cook, and when it is left: with a network that writes what the test says."""

from pathlib import Path
from typing import cast

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.asr.adapting.alignment import align
from assistant.asr.adapting.confusions import LEAST, PRIOR, Confusions, counted
from assistant.asr.adapting.learning import ENOUGH, Said, learned, ways_of
from assistant.asr.confidence import Confidence
from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.network import PhonemeNetwork
from assistant.asr.phoneme import Expert, PhonemeRecogniser
from assistant.ports import Asking, Sound
from assistant.testing.audio import own_words, sentence_graph

SYMBOLS = ("a", "b", "c", "d", "_", "|")
BLANK, BOUNDARY = 4, 5
WORDS = {"one": ["a b a b"], "two": ["d b d b"], "three": ["b a d b"]}
ACT_ABOVE = 0.85
FRAMES = 16


class Writes:
    """A network that writes the signs whose numbers a sound has for samples, two frames each.

    What it writes is likely by `sure`; for "c" it hears some "a" too.
    """

    blank, boundary, symbols, sha256 = BLANK, BOUNDARY, SYMBOLS, "weights"

    def log_probs(self, sound: Sound) -> NDArray[np.float32]:
        probability = np.full((FRAMES, len(SYMBOLS)), 0.001)
        for place, sign in enumerate(np.repeat(sound.pcm[:FRAMES:2], 2).tolist()):
            probability[place, sign] = 1.0
            if sign == 2:
                probability[place, 0] = 0.05
        return np.asarray(np.log(probability / probability.sum(axis=1, keepdims=True)), np.float32)


def recogniser() -> PhonemeRecogniser[str]:
    lexicon = Lexicon(Pronunciations(Path(), WORDS), SYMBOLS)
    return PhonemeRecogniser(
        [Expert(cast(PhonemeNetwork, Writes()), lexicon)],
        lambda asking: sentence_graph(list(WORDS) if asking is Asking.NOTHING else ()),
        meaning=own_words,
        confidence=Confidence(2.5, -2.0, 0.0, 0.3, 0.0, 0.0),
    )


def said(text: str, written: str) -> Said[str]:
    pcm = np.full(FRAMES, BLANK, np.int16)
    pcm[: 2 * len(written)] = np.repeat([SYMBOLS.index(sign) for sign in written], 2)
    return Said(text, text, Sound(pcm))


AS_WRITTEN = [said("one", "a_b_a_b"), said("two", "d_b_d_b"), said("three", "b_a_d_b")] * 4
C_FOR_A = [said("one", "c_b_c_b"), said("two", "d_b_d_b"), said("three", "b_c_d_b")] * 4


def test_who_says_another_phone_is_learned_and_then_heard_surely() -> None:
    anybody = recogniser()
    found = learned(anybody, C_FOR_A, ACT_ABOVE)
    assert found.enough
    assert found.after > found.before + 0.02
    assert set(found.cook["weights"]["a"]) == {"c"}
    one = C_FOR_A[0]
    before, after = (heard.recognise(one.sound) for heard in (anybody, anybody.hearing(found.cook)))
    assert after.text == "one"
    assert after.sure > before.sure
    assert anybody.recognise(one.sound) == before, "the first is as it was"


def test_who_speaks_as_it_is_written_is_heard_as_anybody() -> None:
    found = learned(recogniser(), AS_WRITTEN, ACT_ABOVE)
    assert (found.cook, found.enough) == ({}, True)


def test_what_makes_the_other_half_worse_is_not_used() -> None:
    """Every other sentence says "c" for "a", those between "c" for "d": then "one" is heard for "two"."""
    mixed = [said("one", "c_b_c_b"), said("two", "c_b_c_b")] * 6
    assert ways_of(recogniser(), mixed[::2])["weights"]["a"]["c"] > 0.2
    assert learned(recogniser(), mixed, ACT_ABOVE).cook == {}


def test_from_few_sentences_or_talk_nothing_is_learned() -> None:
    assert not learned(recogniser(), C_FOR_A[: ENOUGH - 1], ACT_ABOVE).enough
    talk, tested = said("one", "d_a_d_a"), recogniser()
    assert tested.cost_of("one", tested.outputs(talk.sound)) > tested.limits.talk
    assert not learned(tested, [*C_FOR_A[: ENOUGH - 1], talk], ACT_ABOVE).enough
    assert learned(tested, [*C_FOR_A[:ENOUGH], talk], ACT_ABOVE).enough


def test_ways_of_other_weights_change_nothing() -> None:
    anybody = recogniser()
    other = anybody.hearing({"other weights": {"a": {"c": 0.4}}})
    assert other.recognise(C_FOR_A[0].sound) == anybody.recognise(C_FOR_A[0].sound)


def test_shares_are_the_posterior_mean_under_the_prior() -> None:
    """By hand: 30 times "a", of which the network wrote "c" 12 times, and PRIOR times "a" before that."""
    heard = []
    for count in range(30):
        probability = np.zeros((1, 6)) + 1e-9
        probability[0, 2 if count < 12 else 0] = 1.0
        log_probs = np.log(probability).astype(np.float32)
        path = align(log_probs, [[(0,)]], blank=BLANK, boundary=BOUNDARY)
        assert path is not None
        heard.append((log_probs, path))
    found = counted(heard, SYMBOLS, BLANK, BOUNDARY)
    assert found == {"a": {"c": pytest.approx(12 / (30 + PRIOR), abs=1e-3)}}
    assert counted(heard[12:], SYMBOLS, BLANK, BOUNDARY) == {}
    assert LEAST > 1e-3


def test_a_phone_is_as_likely_as_all_that_is_said_for_it() -> None:
    log_probs = np.log(np.array([[0.1, 0.2, 0.6, 0.05, 0.04, 0.01]], np.float32))
    made = np.exp(Confusions({"a": {"c": 0.25, "unknown": 0.5}}, SYMBOLS)(log_probs))
    assert made[0].tolist() == pytest.approx([0.75 * 0.1 + 0.25 * 0.6, 0.2, 0.6, 0.05, 0.04, 0.01], abs=1e-5)
    assert Confusions({}, SYMBOLS)(log_probs) is log_probs

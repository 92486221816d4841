"""The best path of a known sentence, against all paths that there are, and against the search."""

import itertools
import re

import numpy as np
import pytest

from assistant.asr.adapting.alignment import align
from assistant.asr.network import PhonemeNetwork
from assistant.asr.parts import Parts
from assistant.asr.phoneme import build
from assistant.ports import Asking
from assistant.testing.audio import own_words, sentence_graph
from tests.asr.speech import espeak
from tests.asr.test_phoneme import PRONUNCIATIONS

SIGNS = "ab_|"
BLANK, BOUNDARY = 2, 3
WORDS = [
    [[(0,)]],
    [[(0, 1)], [(1,)]],
    [[(0, 0)]],
    [[(0, 1), (1,)], [(1, 0)]],
    [[(0,)], [(0,), (1, 1)]],
]


def pattern(phones: tuple[int, ...]) -> str:
    """The frames of a pronunciation, by the rules of CTC (Graves et al. 2006)."""
    text = f"{SIGNS[phones[0]]}+"
    for last, phone in itertools.pairwise(phones):
        text += ("_+" if last == phone else "_*") + f"{SIGNS[phone]}+"
    return text


def patterns(words: list[list[tuple[int, ...]]]) -> list[re.Pattern[str]]:
    """The frames of a sentence, one pattern for each choice of pronunciations."""
    found = []
    for ways in itertools.product(*words):
        text = pattern(ways[0])
        for last, way in itertools.pairwise(ways):
            text += (r"[_|]+" if last[-1] == way[0] else r"[_|]*") + pattern(way)
        found.append(re.compile(rf"[_|]*{text}[_|]*"))
    return found


@pytest.mark.parametrize("words", WORDS)
@pytest.mark.parametrize("n_frames", [1, 3, 5])
def test_it_is_the_best_of_all_paths(words: list[list[tuple[int, ...]]], n_frames: int) -> None:
    chance = np.random.default_rng(7)
    allowed = patterns(words)
    for _ in range(5):
        log_probs = np.log(chance.dirichlet(np.ones(4), n_frames)).astype(np.float32)
        best = max(
            (
                sum(float(log_probs[t, symbol]) for t, symbol in enumerate(path))
                for path in itertools.product(range(4), repeat=n_frames)
                if any(one.fullmatch("".join(SIGNS[symbol] for symbol in path)) for one in allowed)
            ),
            default=None,
        )
        found = align(log_probs, words, blank=BLANK, boundary=BOUNDARY)
        if best is None:
            assert found is None
            continue
        assert found is not None
        assert found.score == pytest.approx(best, abs=1e-4)
        assert found.score == pytest.approx(
            sum(float(log_probs[t, symbol]) for t, symbol in enumerate(found.symbols)), abs=1e-4
        )
        assert any(one.fullmatch("".join(SIGNS[symbol] for symbol in found.symbols)) for one in allowed)


def test_no_frames_hold_no_sentence() -> None:
    assert align(np.zeros((0, 4), np.float32), [[(0,)]], blank=BLANK, boundary=BOUNDARY) is None


def test_it_scores_a_sentence_as_the_search_does() -> None:
    text = "water one fifty"
    recogniser = build(
        Parts(
            layer=lambda asking: sentence_graph([text] if asking is Asking.NOTHING else ()),
            meaning=own_words,
            pronunciations=PRONUNCIATIONS,
            weights="packaged",
        )
    )
    [log_probs] = recogniser.outputs(espeak(text))
    expert = recogniser.experts[0]
    network: PhonemeNetwork = expert.network
    words = [expert.lexicon(word) for word in text.split()]
    found = align(log_probs, words, blank=network.blank, boundary=network.boundary)
    assert found is not None
    lost = float(log_probs.max(axis=1).sum()) - found.score
    # The search looks at one frame of each run of sure blanks: a little less is lost.
    assert lost / found.n_phones == pytest.approx(recogniser.cost_of(text, [log_probs]), abs=0.05)

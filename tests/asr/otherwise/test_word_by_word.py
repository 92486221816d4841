"""The likeliest words are those of the definition: every labelling of every frame is looked at."""

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.asr.otherwise.word_by_word import WordByWord
from assistant.asr.otherwise.word_pairs import WordPairs
from assistant.ports import Overtaken, WordGraph
from tests.asr.search.brute_force import best_scores

BLANK, BOUNDARY = 3, 4
SPELLING: dict[str, list[tuple[int, ...]]] = {
    "ab": [(0, 1)],
    "ba": [(1, 0)],
    "b": [(1,)],
    "aa": [(0, 0)],
    "c": [(2,), (1, 2)],
}
LINES = [["ab", "b"], ["ba", "c"], ["c"], ["b", "b"], ["aa", "ab"], ["ab", "ba"]]
WORDS = sorted(SPELLING)
ANY = WordGraph(2, (0,) * 5 + (1,) * 5, (1,) * 10, (*WORDS, *WORDS), frozenset([1]))
"""Any word behind any other."""


def one(pairs: WordPairs) -> WordByWord:
    return WordByWord(pairs, SPELLING.__getitem__, BLANK, BOUNDARY)


def frames(seed: int, n: int) -> NDArray[np.float32]:
    made = np.random.default_rng(seed).normal(0, 3, (n, 5))
    normed: NDArray[np.float32] = (made - np.log(np.exp(made).sum(axis=1, keepdims=True))).astype(np.float32)
    return normed


@pytest.mark.parametrize("seed", range(40))
def test_as_the_definition_has_it(seed: int) -> None:
    pairs = WordPairs(LINES, ())
    assert pairs.words == tuple(WORDS)
    log_probs = frames(seed, 2 + seed % 5)
    scores = {
        words: score + pairs.score([WORDS.index(word) for word in words])
        for words, score in best_scores(log_probs.astype(float), ANY, SPELLING, BLANK, BOUNDARY).items()
    }
    best = max(scores, key=lambda words: scores[words])

    heard = one(pairs).hear(log_probs)

    assert heard.words == best
    places = [WORDS.index(word) for word in best]
    n_phones = sum(len(SPELLING[word][0]) for word in best)
    sound = scores[best] - pairs.score(places)
    assert heard.phones == n_phones
    assert heard.cost == pytest.approx((log_probs.max(axis=1).sum() - sound) / n_phones, abs=1e-4)
    assert heard.strangeness == pytest.approx(-pairs.score(places) / (len(places) + 1), abs=1e-4)


def test_the_same_phone_twice_needs_a_blank_between_words_too() -> None:
    said = np.full((3, 5), -9.0, dtype=np.float32)
    said[[0, 1, 2], [1, 1, 1]] = -0.1
    pairs = WordPairs([["b", "b"]] * 9 + [["b"]], (), also=WORDS)
    assert one(pairs).hear(said).words == ("b",)
    said[1, 1], said[1, BLANK] = -9.0, -0.1
    assert one(pairs).hear(said).words == ("b", "b")


def test_what_is_overtaken_is_left() -> None:
    with pytest.raises(Overtaken):
        one(WordPairs(LINES, ())).hear(frames(1, 3), wanted=lambda: False)

"""What was said, word by word, where no grammar says what may be: the likeliest words by sound and by pairs.

Frame-synchronous Viterbi over the phones of all words at once (token passing: Young, Russell and Thornton
1989, from memory), by the rules of CTC as `asr.search.phone_graph` has them; a word follows any other, at
what `WordPairs` says.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.asr.otherwise.word_pairs import Scores, WordPairs
from assistant.asr.search.phone_graph import Pronunciations
from assistant.asr.search.trellis import NEVER
from assistant.ports import Overtaken, Wanted, always

BEAM = 25.0
"""No word follows one that ends so much behind the best path (log-probability)."""
_NOTHING = -1

Places = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Words:
    """The likeliest words."""

    words: tuple[str, ...]
    cost: float
    """Log-probability of the sound lost a phone against the best path without any words."""
    strangeness: float
    """How unlikely the words are behind each other: -log-probability a word, the end counted."""
    phones: int


class _Chains:
    """The phones of all words, one way to say a word after the other."""

    def __init__(self, words: Sequence[str], spelled: Pronunciations) -> None:
        ways = [(place, way) for place, word in enumerate(words) for way in spelled(word)]
        self.word = np.array([place for place, _ in ways], dtype=np.intp)
        """Of each way its word."""
        self.label = np.array([phone for _, way in ways for phone in way], dtype=np.intp)
        """Of each phone its symbol."""
        self.last = np.cumsum([len(way) for _, way in ways]) - 1
        self.first = np.append(0, self.last[:-1] + 1).astype(np.intp)
        self.repeated = np.append(False, self.label[1:] == self.label[:-1])
        """Phones that must have a blank before them."""
        self.repeated[self.first] = False
        self.n_phones = {place: len(way) for place, way in reversed(ways)}
        """Of each word, as it is said mostly."""
        n_symbols = int(self.label.max(initial=0)) + 1
        ends = np.zeros((len(words), n_symbols), dtype=np.bool_)
        begins = ends.copy()
        ends[self.word, self.label[self.last]] = True
        begins[self.word, self.label[self.first]] = True
        self.runs_on = ends.astype(np.float32) @ begins.T.astype(np.float32) > 0
        """Whether a word may begin with the phone that another one ends with; shape (words, words)."""


class WordByWord:
    """Hears words. `blank`, `boundary`: the network's symbols for no phone and for the end of a word."""

    def __init__(self, pairs: WordPairs, spelled: Pronunciations, blank: int, boundary: int) -> None:
        self._pairs = pairs
        self._blank, self._boundary = blank, boundary
        self._chains = _Chains(pairs.words, spelled)

    def hear(self, log_probs: Scores, wanted: Wanted = always) -> Words:
        """The likeliest words of an utterance; log_probs: shape (frames, symbols), at least one frame.

        Raises Overtaken once the result is not `wanted` any more.
        """
        run = _Run(self._chains, self._pairs)
        for frame in log_probs:
            if not wanted():
                raise Overtaken
            run.advance(frame, frame[self._blank], max(frame[self._blank], frame[self._boundary]))
        score, places = run.best()
        by_pairs = self._pairs.score(places)
        n_phones = sum(self._chains.n_phones[place] for place in places)
        free = float(log_probs.max(axis=1).sum())
        return Words(
            tuple(self._pairs.words[place] for place in places),
            (free - score + by_pairs) / n_phones,
            -by_pairs / (len(places) + 1),
            n_phones,
        )


class _Run:
    """The scores of one utterance as they grow; beside each, where in the history its words stand."""

    def __init__(self, chains: _Chains, pairs: WordPairs) -> None:
        self._chains, self._pairs = chains, pairs
        n_phones, n_words = len(chains.label), len(pairs.words)
        self._phone, self._blank = _never(n_phones), _never(n_phones)
        self._phone_from, self._blank_from = _nowhere(n_phones), _nowhere(n_phones)
        self._ends, self._ends_from = _never(n_words), _nowhere(n_words)
        """Of words that end in this frame."""
        self._ended, self._ended_from = _never(n_words), _nowhere(n_words)
        """Of words that ended before, with no phone since."""
        self._silent = np.float32(0.0)
        """Score of no word so far."""
        self._before: list[int] = []
        """Of each entry of the history the one before."""
        self._said: list[int] = []
        """Of each entry its word."""

    def advance(self, frame: Scores, no_phone: np.float32, between_words: np.float32) -> None:
        """Take a frame, and what it says of no phone and of the time between words."""
        chains = self._chains
        entry, entry_from = self._entries()
        phone, blank = self._phone, self._blank
        step, step_from = _never(len(phone)), _nowhere(len(phone))
        step[1:], step_from[1:] = phone[:-1], self._phone_from[:-1]
        step[chains.first], step_from[chains.first] = entry[chains.word], entry_from[chains.word]
        step[chains.repeated] = NEVER
        stays, from_blank = phone > step, blank > np.maximum(step, phone)
        step_from = np.where(from_blank, self._blank_from, np.where(stays, self._phone_from, step_from))
        step = np.maximum(np.maximum(step, phone), blank)
        leaves = phone[:-1] > blank[1:]
        self._blank_from[1:] = np.where(leaves, self._phone_from[:-1], self._blank_from[1:])
        np.maximum(blank[1:], phone[:-1], out=blank[1:])
        blank[chains.first] = NEVER
        blank += no_phone
        self._phone, self._phone_from = step + frame[chains.label], step_from
        waits = self._ended >= self._ends
        self._ended_from = np.where(waits, self._ended_from, self._ends_from)
        self._ended = np.maximum(self._ended, self._ends) + between_words
        self._silent += between_words
        self._end_words()

    def _entries(self) -> tuple[Scores, Places]:
        """With which score each word may begin now, and behind which entry of the history.

        A word whose first phone is the last one of the word before begins behind a blank alone.
        """
        n_words = len(self._ended)
        over = np.concatenate([self._ended, self._ends])
        best = max(self._silent, self._phone.max(), self._blank.max(), over.max())
        entry, entry_from = self._pairs.first + self._silent, _nowhere(n_words)
        near = np.flatnonzero(over > best - BEAM)
        if not len(near):
            return entry, entry_from
        words, ends_now = near % n_words, near >= n_words
        places = np.arange(len(self._before), len(self._before) + len(near), dtype=np.int32)
        self._before += np.concatenate([self._ended_from, self._ends_from])[near].tolist()
        self._said += words.tolist()
        following = over[near, np.newaxis] + self._pairs.after[words]
        following[ends_now[:, np.newaxis] & self._chains.runs_on[words]] = NEVER
        leader = following.argmax(axis=0)
        score = np.take_along_axis(following, leader[np.newaxis], axis=0)[0]
        goes_on = score > entry
        return np.where(goes_on, score, entry), np.where(goes_on, places[leader], entry_from)

    def _end_words(self) -> None:
        """A word ends in the last phone of the likeliest of its ways."""
        chains = self._chains
        ends = self._phone[chains.last]
        self._ends = _never(len(self._ends))
        np.maximum.at(self._ends, chains.word, ends)
        likeliest = np.flatnonzero(ends >= self._ends[chains.word])
        self._ends_from[chains.word[likeliest]] = self._phone_from[chains.last[likeliest]]

    def best(self) -> tuple[float, Sequence[int]]:
        """The best score at the end, and the places of its words."""
        waits = self._ended >= self._ends
        scores = np.maximum(self._ended, self._ends) + self._pairs.last
        place = int(scores.argmax())
        places, entry = [place], int(np.where(waits, self._ended_from, self._ends_from)[place])
        while entry != _NOTHING:
            places.append(self._said[entry])
            entry = self._before[entry]
        return float(scores[place]), places[::-1]


def _never(n: int) -> Scores:
    return np.full(n, NEVER, dtype=np.float32)


def _nowhere(n: int) -> Places:
    return np.full(n, _NOTHING, dtype=np.int32)

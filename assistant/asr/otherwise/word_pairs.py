"""How likely a word is behind another one, learned from lines. Pure.

Pairs of words with interpolated absolute discounting (Ney, Essen and Kneser 1994, "On structuring
probabilistic dependences in stochastic language modelling"); what a pair was not seen for goes by how many
different words the second one was seen behind (Kneser and Ney 1995, "Improved backing-off for m-gram
language modeling"); both from memory. All words of numbers are one class (Brown et al. 1992, "Class-based
n-gram models of natural language"): whoever was seen to say "one fifty of water" may say "two thirty" too.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

DISCOUNT = 0.6
"""What is taken off each count of a pair and given to the pairs that were not seen."""
NEVER_SEEN = 0.1
"""As how many words a word counts that stands in no line."""
_BEGIN, _END, _NUMBER = "<s>", "</s>", "#"

Scores = NDArray[np.float32]


class WordPairs:
    """Log-probabilities of `words`, in their order.

    Of `first` at the beginning, shape (words,), `after` another word, shape (words, words), and of
    `last`, that a line ends behind one, shape (words,). `lines`: what was said, word by word;
    `numbers`: words that are a class. Words are those of the lines, of the numbers, and `also`, sorted.
    """

    def __init__(
        self, lines: Iterable[Sequence[str]], numbers: Collection[str], also: Iterable[str] = ()
    ) -> None:
        said = [tuple(line) for line in lines]
        self.words = tuple(sorted({word for line in said for word in line}.union(numbers, also)))
        self._numbers = frozenset(numbers)
        pairs = Counter(pair for line in said for pair in self._pairs(line))
        followers: dict[str, set[str]] = defaultdict(set)
        leaders: dict[str, set[str]] = defaultdict(set)
        for one, other in pairs:
            followers[one].add(other)
            leaders[other].add(one)
        classes = sorted({self._class(word) for word in self.words} | {_END})
        place = {name: number for number, name in enumerate(classes)}
        heads = np.array([len(leaders[name]) + NEVER_SEEN for name in classes])
        anywhere: NDArray[np.float64] = heads / heads.sum()

        def behind(name: str) -> NDArray[np.float64]:
            count = sum(pairs[name, other] for other in followers[name])
            if not count:
                return anywhere
            seen = np.zeros(len(classes))
            for other in followers[name]:
                seen[place[other]] = pairs[name, other] - DISCOUNT
            shared: NDArray[np.float64] = (seen + DISCOUNT * len(followers[name]) * anywhere) / count
            return shared

        its_class = np.array([place[self._class(word)] for word in self.words], dtype=np.intp)
        share = self._shares(said)
        rows = {name: np.log(behind(name)) for name in (*classes, _BEGIN)}
        self.first: Scores = (rows[_BEGIN][its_class] + share).astype(np.float32)
        by_class = {name: (row[its_class] + share).astype(np.float32) for name, row in rows.items()}
        self.after: Scores = np.stack([by_class[self._class(word)] for word in self.words])
        self.last: Scores = np.array(
            [rows[self._class(word)][place[_END]] for word in self.words], dtype=np.float32
        )

    def score(self, places: Sequence[int]) -> float:
        """Log-probability of a whole line, given by the places of its words."""
        inner = sum(float(self.after[one, other]) for one, other in pairwise(places))
        return float(self.first[places[0]]) + inner + float(self.last[places[-1]])

    def _class(self, word: str) -> str:
        return _NUMBER if word in self._numbers else word

    def _pairs(self, line: Sequence[str]) -> Iterable[tuple[str, str]]:
        names = [_BEGIN, *map(self._class, line), _END]
        return pairwise(names)

    def _shares(self, said: Sequence[Sequence[str]]) -> NDArray[np.float64]:
        """Log-probability of each word within its class; half a count more for each number."""
        counts = Counter(word for line in said for word in line if word in self._numbers)
        most = sum(counts.values()) + len(self._numbers) / 2
        return np.array(
            [np.log((counts[word] + 0.5) / most) if word in self._numbers else 0.0 for word in self.words]
        )

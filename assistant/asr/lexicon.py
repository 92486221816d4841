"""How words sound: pronunciations from the kitchen's files; for any other word the guesses of the rules."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from assistant.asr.letter_to_sound import Guesses, LibraryRules, Rules
from assistant.asr.network import BOUNDARY
from assistant.asr.short_forms import in_full
from assistant.errors import GrammarError

Phones = tuple[int, ...]
_S = ("z", "s")


@dataclass(frozen=True, slots=True)
class Pronunciations:
    """How words sound, as read from a file: word -> pronunciations, phones with spaces between."""

    file: Path
    """Where it was read: errors name it, and say to write there."""
    words: Mapping[str, Sequence[str]]
    own: Mapping[str, Sequence[str]] = field(default_factory=dict)
    """What the kitchen wants otherwise; goes before all."""
    fine_tuned: "Pronunciations | None" = None
    """The words as the weights in use were fine-tuned on them; go before `words`. None: they were not."""
    others: "Pronunciations | None" = None
    """Words that stand in no sentence; all else goes before them."""

    def in_order(self) -> Iterator[tuple[Path, str, Sequence[str]]]:
        """File, word and pronunciations; where a word comes again the last counts."""
        if self.others is not None:
            yield from self.others.in_order()
        for word, ways in self.words.items():
            yield self.file, word, ways
        if self.fine_tuned is not None:
            yield from self.fine_tuned.in_order()
        for word, ways in self.own.items():
            yield self.file, word, ways


class Lexicon:
    """Pronunciations of words in the network's symbols; the rules are asked for a word that has none.

    Raises GrammarError at a phone that the network does not know.
    """

    def __init__(
        self, pronunciations: Pronunciations, symbols: Sequence[str], rules: Rules | None = None
    ) -> None:
        self.path = pronunciations.file
        self._number = {symbol: number for number, symbol in enumerate(symbols)}
        self._rules = rules or Guesses(LibraryRules())
        self._guesses: dict[str, tuple[Phones, ...]] = {}
        self._ways: dict[str, tuple[Phones, ...]] = {}
        spelled = {word: (file, ways) for file, word, ways in pronunciations.in_order()}
        self._words = {word: self._read(file, word, ways) for word, (file, ways) in spelled.items()}

    def __contains__(self, word: str) -> bool:
        """Whether a word has a pronunciation that is not guessed."""
        return word in self._words

    def prepare(self, words: Iterable[str]) -> None:
        """Ask the rules for the words that have no pronunciation: all at once takes less than one by one."""
        self._rules([word for word in sorted(words) if word not in self._words])

    def __call__(self, word: str) -> tuple[Phones, ...]:
        """Pronunciations of a word, at least one; of a short form also those of its words in full."""
        if word not in self._ways:
            self._ways[word] = tuple(dict.fromkeys((*self._spelled(word), *self._in_full(word))))
        return self._ways[word]

    def _in_full(self, word: str) -> Iterator[Phones]:
        """Each pair of words that a short form stands for, spoken on or with a boundary between them."""
        boundary = self._number.get(BOUNDARY)
        for first, second in in_full(word):
            one, other = self._spelled(first)[0], self._spelled(second)[0]
            if boundary is not None:
                yield (*one, boundary, *other)
            if one[-1] != other[0]:
                yield (*one, *other)

    def _spelled(self, word: str) -> tuple[Phones, ...]:
        """Pronunciations of a word as it is written."""
        if word not in self._words and word not in self._guesses:
            variants = self._with_s(word) or self._guessed(word)
            if not variants:
                raise GrammarError(
                    f'No pronunciation of "{word}" is known and none can be guessed; '
                    f"write one into {self.path}."
                )
            self._guesses[word] = variants
        return self._words.get(word) or self._guesses[word]

    def _with_s(self, word: str) -> tuple[Phones, ...]:
        """A word with 's behind it as the word and that sound: the library guesses a syllable more."""
        base = word.removesuffix("'s")
        if base in ("", word) or not all(sound in self._number for sound in _S):
            return ()
        return tuple((*way, self._number[sound]) for way in self._spelled(base) for sound in _S)

    def _guessed(self, word: str) -> tuple[Phones, ...]:
        [ways] = self._rules([word])
        phones = [tuple(self._number[phone] for phone in way if phone in self._number) for way in ways]
        return tuple(dict.fromkeys(way for way in phones if way))

    def _read(self, file: Path, word: str, spelled: Sequence[str]) -> tuple[Phones, ...]:
        variants = []
        for one in spelled:
            phones = one.split()
            if not phones:
                raise GrammarError(
                    f'{file}: "{word}" has an empty pronunciation; write phones, like ["w ʌ n"].'
                )
            unknown = [phone for phone in phones if phone not in self._number]
            if unknown:
                raise GrammarError(
                    f'{file}: "{word}" has the phone "{" ".join(unknown)}" that the network does not know; '
                    f"write phones with spaces between them, as in the other words."
                )
            variants.append(tuple(self._number[phone] for phone in phones))
        return tuple(dict.fromkeys(variants))

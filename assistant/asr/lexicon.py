"""How words sound: pronunciations from the kitchen's files, the library's guess for any other word.

A guess counts beside the nearest English phones, and that of a word with accents beside that of one without.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.asr.phones import english, without_accents
from assistant.errors import GrammarError

Phones = tuple[int, ...]
_S = ("z", "s")
Guess = Callable[[str], Sequence[str]]
"""Word -> phones as the library's spelling rules have it."""


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

    def in_order(self) -> Iterator[tuple[Path, str, Sequence[str]]]:
        """File, word and pronunciations; where a word comes again the last counts."""
        for word, ways in self.words.items():
            yield self.file, word, ways
        if self.fine_tuned is not None:
            yield from self.fine_tuned.in_order()
        for word, ways in self.own.items():
            yield self.file, word, ways


class Lexicon:
    """Pronunciations of words in the network's symbols; `guess` is asked for a word that has none.

    Raises GrammarError at a phone that the network does not know.
    """

    def __init__(
        self, pronunciations: Pronunciations, symbols: Sequence[str], guess: Guess | None = None
    ) -> None:
        self.path = pronunciations.file
        self._number = {symbol: number for number, symbol in enumerate(symbols)}
        self._guess = guess or GuessedPronunciations()
        self._guesses: dict[str, tuple[Phones, ...]] = {}
        spelled = {word: (file, ways) for file, word, ways in pronunciations.in_order()}
        self._words = {word: self._read(file, word, ways) for word, (file, ways) in spelled.items()}

    def __contains__(self, word: str) -> bool:
        """Whether a word has a pronunciation that is not guessed."""
        return word in self._words

    def __call__(self, word: str) -> tuple[Phones, ...]:
        """Pronunciations of a word, at least one."""
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
        return tuple((*way, self._number[sound]) for way in self(base) for sound in _S)

    def _guessed(self, word: str) -> tuple[Phones, ...]:
        guesses = [self._guess(spelling) for spelling in dict.fromkeys((word, without_accents(word)))]
        ways = [way for guess in guesses for way in (english(guess), guess)]
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


class GuessedPronunciations:
    """Phones from spelling by the library's own network, loaded when the first word is asked for."""

    def __init__(self) -> None:
        self._model: Any = None

    def __call__(self, word: str) -> Sequence[str]:
        """Phones of one word."""
        if self._model is None:
            from hama import G2PModel

            self._model = G2PModel()
        found = self._model.predict(word, output_delimiter="")
        # The library writes some foreign words sign by sign, with spaces, and affricates as three signs.
        spelled = " ".join(one.phoneme for one in found.alignments if one.phoneme.strip())
        for apart, together in (("t ͡ ʃ", "t͡ʃ"), ("d ͡ ʒ", "d͡ʒ"), (" ̪", ""), ("\u0261", "g")):
            spelled = spelled.replace(apart, together)
        return spelled.split()

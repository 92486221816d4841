"""How words sound: pronunciations from the kitchen's file, the library's guess for any other word."""

import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from assistant.errors import GrammarError

Phones = tuple[int, ...]
Guess = Callable[[str], Sequence[str]]
"""Word -> phones as the library's spelling rules have it."""


class Lexicon:
    """Pronunciations of words in the network's symbols.

    `path`: TOML file, table `words`: word = ["phones with spaces", ...]; `guess` is asked for a word not in it.
    `fine_tuned`: such a file of the words with which the network was fine-tuned; it goes before `words`. A table
    `own` of `path` goes before both.
    Raises GrammarError on a file that can't be read or a phone that the network does not know.
    """

    def __init__(
        self,
        path: Path,
        symbols: Sequence[str],
        guess: Guess | None = None,
        *,
        fine_tuned: Path | None = None,
    ) -> None:
        self.path = path
        self._number = {symbol: number for number, symbol in enumerate(symbols)}
        self._guess = guess or GuessedPronunciations()
        tables = _load(path)
        spelled = dict(_words(path, tables, "words"))
        if fine_tuned is not None:
            spelled |= _words(fine_tuned, _load(fine_tuned), "words")
        spelled |= _words(path, tables, "own")
        self._words = {word: self._read(word, ways) for word, ways in spelled.items()}

    def __contains__(self, word: str) -> bool:
        return word in self._words

    def __call__(self, word: str) -> tuple[Phones, ...]:
        """Pronunciations of a word, at least one."""
        if word not in self._words:
            phones = tuple(self._number[phone] for phone in self._guess(word) if phone in self._number)
            if not phones:
                raise GrammarError(
                    f'No pronunciation of "{word}" is known and none can be guessed; write one into {self.path}.'
                )
            self._words[word] = (phones,)
        return self._words[word]

    def _read(self, word: str, spelled: object) -> tuple[Phones, ...]:
        if not isinstance(spelled, list) or not spelled or not all(isinstance(one, str) for one in spelled):
            raise GrammarError(f'{self.path}: "{word}" must have a list of pronunciations, like ["w ʌ n"].')
        variants = []
        for one in spelled:
            phones = one.split()
            if not phones:
                raise GrammarError(
                    f'{self.path}: "{word}" has an empty pronunciation; write phones, like ["w ʌ n"].'
                )
            unknown = [phone for phone in phones if phone not in self._number]
            if unknown:
                raise GrammarError(
                    f'{self.path}: "{word}" has the phone "{" ".join(unknown)}" that the network does not know; '
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


def _load(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            return tomllib.load(file)
    except OSError as error:
        raise GrammarError(f"The pronunciations {path} can't be read ({error.strerror}).") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise GrammarError(f"The pronunciations {path} are not valid TOML: {error}.") from None


def _words(path: Path, tables: dict[str, Any], name: str) -> dict[str, Any]:
    words = tables.get(name, {})
    if not isinstance(words, dict):
        raise GrammarError(f'{path}: "{name}" must be a table, like [{name}].')
    return words

"""The recognisers that are compared, each by one name: the only module here that knows how they are built."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from assistant.app.adapters import letter_to_sound
from assistant.app.application import Application, open_application
from assistant.asr.lexicon import Lexicon
from assistant.asr.network import PhonemeNetwork
from assistant.asr.phoneme import Expert, PhonemeRecogniser
from assistant.asr.phones import english
from assistant.batch.record.commands import Command
from assistant.config.home import Home
from assistant.ports import Asking, Recogniser, Recognition, Sound
from assistant.testing.audio import own_words, sentence_graph

Name = Literal["kitchen", "packaged", "both"]
NAMES: tuple[Name, ...] = get_args(Name)
EARS: Mapping[Name, str] = {
    "kitchen": "the network fine-tuned beside a motor with the kitchen's words, what the settings have where "
    "nothing is written",
    "packaged": "the network as the library has it",
    "both": "both networks as one",
}
"""What each is."""
_SETTINGS: Mapping[Name, str] = {
    "kitchen": 'weights = "kitchen"',
    "packaged": 'weights = "packaged"',
    "both": 'weights = "both"',
}
"""Lines of `[recogniser]`."""
_NO_WORDS = "stop"


@dataclass(frozen=True)
class Ear:
    """One recogniser with its settings; `home`: an empty folder of its own."""

    name: Name
    home: Path

    @cached_property
    def application(self) -> Application:
        """What ships, heard by this recogniser."""
        return self.kitchen("what ships", {})

    @cached_property
    def recogniser(self) -> Recogniser[Command]:
        """The recogniser of the grammar that ships, built once."""
        return self.application.recogniser()

    def kitchen(self, folder: str, files: Mapping[str, str], settings: str = "") -> Application:
        """A home with these files beside its settings, and further sections of those."""
        home = Home.find(self.home / folder)
        home.settings_file.parent.mkdir(parents=True, exist_ok=True)
        home.settings_file.write_text(f"[recogniser]\n{_SETTINGS[self.name]}\n{settings}", encoding="utf-8")
        for file, text in files.items():
            path = home.config / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return open_application(home)

    def among(self, sentences: Iterable[str]) -> PhonemeRecogniser[str]:
        """A recogniser of these sentences and no others, each meaning itself, with the limits that ship."""
        return self._of(sentences)

    def fit(self, sound: Sound, text: str) -> "Fit":
        """How well what is said in a sound fits it."""
        outputs = self._probe.outputs(sound)
        alone = self._of([text]).decode(outputs)
        return Fit(
            self._probe.cost_of(text, outputs),
            self.outcome(alone) == "acted",
            phones_heard(self._experts[0].network, outputs[0]) if len(outputs) == 1 else None,
            [self._spelled(word) for word in text.split()],
        )

    def n_phones(self, text: str) -> int:
        """Phones of a sentence, each word in its first spelling."""
        return sum(len(self._spelled(word)[0]) for word in text.split())

    def outcome(self, found: Recognition[str]) -> str:
        """What a station makes of it that knows no moment: `acted`, `asked`, `silent`."""
        if not found.accepted:
            return "asked" if found.near else "silent"
        return "acted" if found.sure >= self.application.settings.recogniser.act_above else "asked"

    def _of(self, sentences: Iterable[str]) -> PhonemeRecogniser[str]:
        graph = sentence_graph(sentences)
        return PhonemeRecogniser(
            self._experts,
            lambda asking: graph if asking is Asking.NOTHING else sentence_graph(()),
            meaning=own_words,
            confidence=self._shipped.confidence,
            limits=self._shipped.limits,
        )

    @cached_property
    def _shipped(self) -> PhonemeRecogniser[Command]:
        built = self.recogniser
        assert isinstance(built, PhonemeRecogniser)
        return built

    @cached_property
    def _probe(self) -> PhonemeRecogniser[str]:
        return self._of([_NO_WORDS])

    @cached_property
    def _experts(self) -> list[Expert]:
        """As those of what ships; what is guessed for a word is guessed once for all ears."""
        networks = [expert.network for expert in self._shipped.experts]
        return [
            Expert(network, Lexicon(self.application.pronunciations(network.words), network.symbols, _RULES))
            for network in networks
        ]

    def _spelled(self, word: str) -> list[tuple[str, ...]]:
        """Ways to say a word, in the network's symbols as phones of English."""
        first = self._experts[0]
        ways = [english(first.network.symbols[phone] for phone in way) for way in first.lexicon(word)]
        return list(dict.fromkeys(way for way in ways if way)) or [()]


@dataclass(frozen=True)
class Fit:
    """How well the true sentence fits."""

    cost: float
    alone: bool
    """Whether it would be acted on if there were no other sentence."""
    heard: tuple[str, ...] | None
    """Phones of the network without any grammar; None where there are two of them."""
    words: list[list[tuple[str, ...]]]
    """Ways to say each word of the sentence."""


_RULES = letter_to_sound()
"""One for all ears, so that each word is guessed once."""


def phones_heard(network: PhonemeNetwork, log_probs: NDArray[np.float32]) -> tuple[str, ...]:
    """The likeliest symbol of every frame, repeats and blanks left out (Graves et al. 2006, best path)."""
    best = log_probs.argmax(axis=1)
    changed = np.flatnonzero(np.diff(best, prepend=-1))
    marks = {network.blank, network.boundary}
    symbols = [network.symbols[symbol] for symbol in best[changed] if int(symbol) not in marks]
    return tuple(phone for symbol in symbols for phone in english([symbol]))

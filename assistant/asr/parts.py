"""What any recogniser is built from."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Generic

from assistant.asr.adapting.confusions import Cook
from assistant.asr.letter_to_sound import Guesses, LibraryRules, Rules
from assistant.asr.lexicon import Pronunciations
from assistant.asr.network import Listening
from assistant.asr.otherwise.in_other_words import Ways
from assistant.ports import Asking, M, WordGraph


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts(Generic[M]):
    """The grammar, the pronunciations and the settings that a recogniser is built from."""

    layer: Callable[[Asking], WordGraph]
    """The sentences that one layer of what may be said adds (`Asking.layers`)."""
    meaning: Callable[[str, Asking], M | None]
    """Sentence, and what is asked -> what it means; None where it means nothing."""
    pronunciations: Callable[[Path | None], Pronunciations]
    """Reads them; its argument is the file of the words with which the weights were fine-tuned, or None."""
    rules: Rules = field(default_factory=lambda: Guesses(LibraryRules()))
    """How words sound that have no pronunciation."""
    ways: Ways[M] | None = None
    """Known ways to say things that the grammar lacks; None: what fits no sentence is left alone."""
    model_path: Path | None = None
    """Folder of a Vosk model, or other weights (.hama) of the phoneme network; None: those that ship."""
    weights: Listening = "kitchen"
    """Which of the networks that ship listen."""
    cook: Cook = field(default_factory=dict)
    """How the cook who is listened for says the phones; empty for anybody."""

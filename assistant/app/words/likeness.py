"""What a kitchen's own sentence sounds like: other commands, and common talk.

How far is far enough was measured on commands of the grammar that ships, by four synthetic voices in quiet
and beside a motor (`tests/bench/hearing/FINDINGS.md`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.app.words.samples import Sample
from assistant.asr.likeness import Near, apart, nearest, ways_of
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.batch.record.commands import Command
from assistant.errors import GrammarError

TALK_FILE = "talk.txt"
CLOSE = 1.0
"""Nearer than this many phones to a command of another meaning a sentence is asked about often."""
CLOSE_TO_TALK = 1.5
"""Nearer than this many phones to talk a sentence is heard into it."""
SHORT = 5
"""A sentence of fewer phones is heard into talk whatever it is."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """What one sentence sounds like."""

    sample: Sample
    commands: tuple[Near[Command], ...]
    """Commands of another meaning, nearest first."""
    talk: tuple[Near[Command], ...]
    """Talk, nearest first."""
    phones: int
    """How many phones it has."""

    @property
    def warnings(self) -> list[str]:
        """What to mind, in a sentence each."""
        found = []
        if self.commands and self.commands[0].phones < CLOSE:
            found.append(f'so near to "{self.commands[0].text}" that it will often be asked about')
        if self.talk and self.talk[0].phones < CLOSE_TO_TALK:
            found.append(f'so near to "{self.talk[0].text}" that talk may be taken for it')
        elif self.phones < SHORT:
            found.append("so short that talk may be taken for it")
        return found


def likeness(recogniser: PhonemeRecogniser[Command], sample: Sample, talk: Sequence[str]) -> Likeness:
    """What a sentence sounds like in a grammar without it. Raises GrammarError at what has no sound."""
    symbols = recogniser.network.symbols
    near = nearest(recogniser, sample.text, asking=sample.asking)
    said = ways_of(recogniser.lexicon, symbols, sample.text)
    spoken: list[Near[Command]] = []
    for text in talk:
        try:
            ways = ways_of(recogniser.lexicon, symbols, text)
        except GrammarError:  # a word that can't be guessed: this line can't be compared
            continue
        spoken.append(Near(text, None, apart(said, ways)))
    return Likeness(
        sample,
        tuple(one for one in near if one.meaning != sample.means),
        tuple(sorted(spoken, key=lambda one: one.phones)),
        len(said[0]),
    )


def read_talk(file: Path) -> tuple[str, ...]:
    """Common talk of a file, a sentence a line. Raises GrammarError where it can't be read."""
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as problem:
        raise GrammarError(f"{file} can't be read ({problem}); make it a text file in UTF-8.") from None
    return tuple(line.strip() for line in lines if line.strip() and not line.startswith("#"))

"""What a kitchen's own sentence sounds like: other commands, and common talk.

How far is far enough was measured on commands of the grammar that ships, by four synthetic voices in quiet
and beside a motor (`tests/bench/hearing/FINDINGS.md`).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.app.words.new_sentences import Sample
from assistant.asr.likeness import Near, apart, nearest, ways_of
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.batch.record.commands import Command
from assistant.config.language.talk import Talk

CLOSE = 1.0
"""Nearer than this many phones to a command of another meaning a sentence is taken for it now and then."""
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
            found.append(f'so near to "{self.commands[0].text}" that it may be taken for it')
        if self.talk and self.talk[0].phones < CLOSE_TO_TALK:
            found.append(f'so near to "{self.talk[0].text}" that talk may be taken for it')
        elif self.phones < SHORT:
            found.append("so short that talk may be taken for it")
        return found


def likeness(recogniser: PhonemeRecogniser[Command], sample: Sample, talk: Talk) -> Likeness:
    """What a sentence sounds like in a grammar without it. Raises GrammarError at what has no sound."""
    symbols, lexicon = recogniser.network.symbols, recogniser.lexicon
    near = nearest(recogniser, sample.text, asking=sample.asking)
    said = ways_of(lexicon, symbols, sample.text)

    def ways(word: str) -> Sequence[str]:
        if word in lexicon or word not in talk.words:
            return [" ".join(way) for way in ways_of(lexicon, symbols, word)]
        return talk.words[word]

    spoken: Iterator[Near[Command]] = (
        Near(text, None, apart(said, [" ".join(ways(word)[0] for word in text.split()).split()]))
        for text in talk.sentences
    )
    return Likeness(
        sample,
        tuple(one for one in near if one.meaning != sample.means),
        tuple(sorted(spoken, key=lambda one: one.phones)),
        len(said[0]),
    )

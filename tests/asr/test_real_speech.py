"""Real voices through the whole recogniser: endpointer, network, decoder, pronunciations that ship.

The recordings are others' data under their own licences (Speech Commands CC BY 4.0, Free Spoken Digit Dataset
CC BY-SA 4.0, Asterisk's English prompts CC BY-SA 3.0 ...): read where they are, never part of this
repository.
"""

import csv
import os
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

import pytest

from assistant.asr.confidence import BOTH
from assistant.asr.parts import Parts
from assistant.asr.phoneme import Expert, PhonemeRecogniser
from assistant.asr.phoneme import experts as experts_of
from assistant.audio.files import read_sound
from assistant.batch.record.commands import Command
from assistant.config.language.pronunciations import read_pronunciations
from assistant.config.resources import grammar_folder
from assistant.hearing.endpointing import SpeechEndpointer
from assistant.nlu.grammar import load_grammar
from assistant.ports import Asking, WordGraph
from assistant.testing.audio import own_words, sentence_graph

FOLDER = Path(os.environ.get("CRUMBCALL_SPEECH", Path(__file__).parents[2].parent / "shared" / "speech"))
MISTAKEN = {("please try again", "please dry again"), ("removed", "remove it")}
"""What recorded prompts say, and what is heard: the first is acted on, the second asked about."""
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

pytestmark = [
    pytest.mark.speech,
    pytest.mark.skipif(
        not (FOLDER / "manifest.csv").is_file(),
        reason=f"no recordings in {FOLDER}; set CRUMBCALL_SPEECH to their folder",
    ),
]


@pytest.fixture(scope="module")
def experts() -> Sequence[Expert]:
    pronunciations = partial(read_pronunciations, grammar_folder() / "pronunciations.toml")
    parts = Parts(layer=lambda _: sentence_graph(["undo"]), meaning=own_words, pronunciations=pronunciations)
    return experts_of(parts)


def hearing(experts: Sequence[Expert], graph: WordGraph) -> PhonemeRecogniser[str]:
    return PhonemeRecogniser(experts, lambda _: graph, meaning=own_words, confidence=BOTH)


def recordings(kind: str, source: str = "") -> Iterator[tuple[Path, str]]:
    """Every third recording of a kind, with what is said in it."""
    with (FOLDER / "manifest.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["kind"] == kind and source in row["file"]]
    return ((FOLDER / row["file"], row["transcript"]) for row in rows[::3])


def share_right(recogniser: PhonemeRecogniser[str], kind: str, source: str = "") -> float:
    right = []
    for path, said in recordings(kind, source):
        endpointer = SpeechEndpointer()
        pcm = read_sound(path).pcm
        utterances = endpointer.feed(pcm) + endpointer.flush()
        right.append(said in [recogniser.recognise(utterance.sound).text for utterance in utterances])
    return sum(right) / len(right)


def test_digits_of_many_speakers(experts: Sequence[Expert]) -> None:
    """Measured: 93 % of 46."""
    assert share_right(hearing(experts, sentence_graph(DIGITS)), "digit", "gsc") >= 0.88


def test_numbers_in_three_words_and_more(experts: Sequence[Expert]) -> None:
    """The spliced numbers of one speaker against all whole numbers that the grammar lets water have."""
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    graph = grammar.graph(Asking.NOTHING)
    poured = next(
        target
        for source, target, word in zip(graph.source, graph.target, graph.word, strict=True)
        if (source, word) == (0, "poured")
    )

    assert share_right(hearing(experts, starting_at(graph, poured)), "spliced_number") >= 0.9


def starting_at(graph: WordGraph, state: int) -> WordGraph:
    """The same graph entered at another state."""
    swap = {0: state, state: 0}
    return WordGraph(
        graph.n_states,
        tuple(swap.get(one, one) for one in graph.source),
        tuple(swap.get(one, one) for one in graph.target),
        graph.word,
        frozenset(swap.get(one, one) for one in graph.final),
    )


@pytest.mark.parametrize(
    ("kind", "share"),
    [("noncommand", 0.0), ("two_talkers", 0.0), ("spelling", 0.0), ("noncommand_word", 0.03)],
)
def test_hardly_anything_without_a_command_is_accepted_or_asked_about(
    experts: Sequence[Expert], kind: str, share: float
) -> None:
    """With the limits that ship; what is known to be mistaken is named, and nothing else may be.

    Single words are the hard case: few phones, and some are half a command ("water").
    """
    grammar = load_grammar(grammar_folder() / "commands.jsgf")
    graph = grammar.listened(Asking.NOTHING)
    recogniser: PhonemeRecogniser[Command] = PhonemeRecogniser(
        experts, lambda _: graph, meaning=lambda text, _: grammar.parse(text), confidence=BOTH
    )
    clips = list(recordings(kind))
    taken = []
    for path, said in clips:
        endpointer = SpeechEndpointer()
        pcm = read_sound(path).pcm[: 16_000 * 8]
        heard = [
            recogniser.recognise(utterance.sound) for utterance in endpointer.feed(pcm) + endpointer.flush()
        ]
        taken += [
            (said, found.text)
            for found in heard
            if (found.accepted or found.near)
            and found.meaning not in (None, grammar.parse(said))
            and (said, found.text) not in MISTAKEN
        ]

    assert len(taken) <= share * len(clips), taken

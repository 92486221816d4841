"""What is heard word by word is asked about where it is clear enough, and never acted on."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import open_application
from assistant.asr.confidence import UNCONFIRMED
from assistant.asr.letter_to_sound import Way
from assistant.asr.lexicon import Lexicon, Pronunciations
from assistant.asr.network import PhonemeNetwork
from assistant.asr.otherwise.in_other_words import LEAST_PHONES, InOtherWords, Ways
from assistant.batch.record.commands import Command
from assistant.config.home import Home
from assistant.ports import Asking, Recogniser, always
from tests.asr.speech import espeak
from tests.asr.test_lexicon import FILE

SYMBOLS = ("a", "b", "c", "d", "<blank>", "<wb>")
BLANK, BOUNDARY = 4, 5
WORDS = {"water": ["a b c d"], "goes": ["b d"], "in": ["c a"], "now": ["d c b"], "not": ["d a b"]}
SAID = "water goes in now water in now"
MEANT = {SAID: ("water in", 7)}


def no_rules(words: Sequence[str]) -> list[list[Way]]:
    return [[] for _ in words]


def listener() -> InOtherWords[int]:
    ways: Ways[int] = Ways(
        lambda: [SAID.split(), ["in", "now"], ["2"], ["not"]],
        frozenset(),
        lambda text, _asking: MEANT.get(text),
    )
    return InOtherWords(ways, Lexicon(Pronunciations(FILE, WORDS), SYMBOLS, no_rules), BLANK, BOUNDARY)


def sound(text: str, noise: float = 0.0) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    """Frames in which the phones of a text are heard, a boundary between words; `noise` nats off each."""
    phones = [symbol for word in text.split() for symbol in (*WORDS[word][0].split(), "<wb>")]
    heard = np.full((len(phones), len(SYMBOLS)), -12.0, dtype=np.float32)
    heard[range(len(phones)), [SYMBOLS.index(phone) for phone in phones]] = -0.01 - noise
    heard[:, BLANK] = np.where(noise, -0.01, -12.0)
    return heard


def test_a_known_way_is_asked_about() -> None:
    found = listener()(sound(SAID), Asking.NOTHING, always)
    assert found is not None
    assert (found.text, found.meaning) == ("water in", 7)
    assert (found.accepted, found.near, found.guessed, found.sure) == (False, True, True, UNCONFIRMED)


@pytest.mark.parametrize(
    ("text", "noise", "asking"),
    [
        (SAID, 0.0, Asking.AMOUNT),  # an answer is waited for
        ("in now", 0.0, Asking.NOTHING),  # too short
        (SAID, 2.0, Asking.NOTHING),  # fits badly
        ("now now in now now in now now in", 0.0, Asking.NOTHING),  # nobody would say so
        ("water goes in now water goes in now", 0.0, Asking.NOTHING),  # like nothing known
    ],
)
def test_too_little_is_left_alone(text: str, noise: float, asking: Asking) -> None:
    assert listener()(sound(text, noise), asking, always) is None


def test_an_utterance_of_few_frames_is_not_searched() -> None:
    overtaken = LEAST_PHONES - 1
    assert listener()(sound(SAID)[:overtaken], Asking.NOTHING, lambda: False) is None


@pytest.fixture(scope="module")
def recogniser(tmp_path_factory: pytest.TempPathFactory) -> Recogniser[Command]:
    return open_application(Home.find(tmp_path_factory.mktemp("home"))).recogniser()


def test_every_word_of_the_known_ways_has_a_pronunciation(tmp_path: Path) -> None:
    """Spelling them by rule takes seconds at each start."""
    application = open_application(Home.find(tmp_path))
    spelled = {word for _, word, _ in application.pronunciations(PhonemeNetwork().words).in_order()}
    said = {word for line in application.grammar.ways() if all(map(str.isalpha, line)) for word in line}
    assert sorted(said - spelled) == []


def test_a_spoken_sentence_that_the_grammar_lacks_is_asked_about(recogniser: Recogniser[Command]) -> None:
    found = recogniser.recognise(espeak("okay the tray is full so please count it"))
    assert (found.text, found.accepted, found.near, found.guessed) == ("tray done", False, True, True)


def test_talk_is_left_alone(recogniser: Recogniser[Command]) -> None:
    found = recogniser.recognise(espeak("the forecast says rain for the whole weekend again"))
    assert (found.accepted, found.near, found.guessed) == (False, False, False)

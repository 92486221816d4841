"""With an attention word on, nothing is heard without it, and what is heard means what it meant."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import open_application
from assistant.batch.record.commands import MachineQuestion
from assistant.config.home import Home
from assistant.hearing.attention_word import Attentive, asked_for, beside, prefixed, without
from assistant.ports import Asking, Hypothesis, Recognition, Sound, Wanted, WordGraph, always
from assistant.testing.audio import heard, sentence_graph
from tests.asr.speech import espeak

SENTENCES = ["undo", "water one fifty", "water one"]
WORD = "crumbcall"


def sentences(graph: WordGraph, state: int) -> set[str]:
    found = {""} if state in graph.final else set()
    for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
        if source == state:
            found |= {f"{word} {rest}".strip() for rest in sentences(graph, target)}
    return found


def test_every_sentence_stands_after_the_word() -> None:
    graph = prefixed(sentence_graph(SENTENCES), WORD)
    assert sentences(graph, graph.start(Asking.NOTHING)) == {f"{WORD} {text}" for text in SENTENCES}


def test_an_answer_needs_no_word() -> None:
    own = {Asking.NOTHING: ["undo"], Asking.ANSWER: ["yes"], Asking.AMOUNT: ["one kilo"]}
    layer = asked_for(lambda asking: sentence_graph(own[asking]), WORD)

    def said(asking: Asking) -> set[str]:
        graphs = [layer(one) for one in asking.layers]
        return set().union(*(sentences(graph, graph.start(asking)) for graph in graphs))

    assert said(Asking.NOTHING) == {f"{WORD} undo"}
    assert said(Asking.ANSWER) == {"yes", "undo"}
    assert said(Asking.AMOUNT) == {"one kilo", "yes", "undo"}


def test_what_never_needs_the_word_stands_beside_it() -> None:
    bare = sentence_graph(["is it off", "is it on"])
    graphs = asked_for(lambda _: sentence_graph(["undo", "stop"]), WORD, bare)
    assert sentences(graphs(Asking.NOTHING), 0) == {f"{WORD} undo", f"{WORD} stop", "is it off", "is it on"}
    assert sentences(graphs(Asking.ANSWER), 0) == {"undo", "stop"}


def test_a_word_that_begins_such_a_sentence_too_is_needed_for_all() -> None:
    graph = prefixed(sentence_graph(["undo"]), "stop")
    assert beside(graph, sentence_graph(["stop the machine"])) == graph


class Fixed:
    name = "fixed"

    def recognise(
        self,
        sound: Sound,
        *,
        asking: Asking = Asking.NOTHING,
        wanted: Wanted = always,  # noqa: ARG002
    ) -> Recognition[str]:
        if not len(sound.pcm) or asking is not Asking.NOTHING:
            return heard("yes", "agree")
        best = Hypothesis(f"{WORD} undo", "take back", 0.5)
        return Recognition(best, True, 2.0, (Hypothesis(f"{WORD} water one", "pour", 0.6, 2.0),))


def test_the_word_is_not_handed_on() -> None:
    recogniser = Attentive(Fixed(), WORD)
    sound = Sound(np.ones(16, np.int16))
    found = recogniser.recognise(sound)
    assert (found.text, found.meaning, found.margin) == ("undo", "take back", 2.0)
    assert (found.alternatives[0].text, found.alternatives[0].meaning) == ("water one", "pour")
    assert recogniser.recognise(sound, asking=Asking.ANSWER).text == "yes"
    assert recogniser.name == "fixed"


class Near(Fixed):
    """Hears a sentence that fits badly."""

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[str]:
        return replace(super().recognise(sound, asking=asking, wanted=wanted), accepted=False, near=True)


def test_what_fits_badly_is_not_asked_about_where_a_word_is_waited_for() -> None:
    sound = Sound(np.ones(16, np.int16))
    assert Near().recognise(sound).near
    assert not Attentive(Near(), WORD).recognise(sound).near


@pytest.mark.parametrize(("text", "left"), [(f"{WORD} undo", "undo"), ("undo", "undo"), ("", ""), (WORD, "")])
def test_only_a_leading_word_goes(text: str, left: str) -> None:
    assert without(text, WORD) == left


def test_without_the_word_a_station_hears_only_what_is_asked_of_the_machine(
    tmp_path: Path,
) -> None:
    (tmp_path / "settings.toml").write_text(f'[recogniser]\nattention_word = "{WORD}"\n', encoding="utf-8")
    recogniser = open_application(Home.find(tmp_path)).recogniser()
    with_word, bare = espeak(f"{WORD} how much left"), espeak("how much left")
    assert [(recogniser.recognise(with_word).text, recogniser.recognise(with_word).accepted)] == [
        ("how much left", True)
    ]
    assert not recogniser.recognise(bare).accepted
    unworded = recogniser.recognise(espeak("stop the machine"))
    assert (unworded.meaning, unworded.accepted) == (MachineQuestion(), True)
    assert recogniser.recognise(bare, asking=Asking.ANSWER).text == "how much left"

"""The built-in recogniser from end to end: synthetic voices, the shipped grammar, what must be refused."""

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from assistant.asr import ENGINES, Parts, build_recogniser
from assistant.asr.confidence import Confidence
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.asr.search.judging import DecodingLimits
from assistant.asr.search.silence import spoken_frames
from assistant.asr.vosk_engine import DISAGREED_COST, VoskRecogniser
from assistant.batch.record.commands import AddWater, Command
from assistant.config.language.pronunciations import read_pronunciations
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.errors import ModelError, SettingsError
from assistant.nlu.grammar import Grammar, load_grammar
from assistant.nlu.jsgf import parse_jsgf
from assistant.ports import NOTHING_HEARD, Asking, Overtaken, Recognition, Sound, WordGraph
from assistant.testing.audio import ScriptedRecogniser, check_recogniser, own_words, sentence_graph
from tests.asr.speech import espeak, white_noise

DOZEN = (
    "water one fifty",
    "poured half a kilo",
    "make that two forty",
    "new batch two thousand",
    "target thirty one",
    "crumb ready",
    "how much left",
    "mix eight minutes",
    "stop timer",
    "got it",
    "tray done",
    "say again",
)
PRONUNCIATIONS = partial(read_pronunciations, grammar_folder() / "pronunciations.toml")


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(grammar_folder() / "commands.jsgf")


@pytest.fixture(scope="module")
def parts(grammar: Grammar) -> Parts[Command]:
    return Parts(
        layer=grammar.layer,
        meaning=lambda text, asking: grammar.parse(text, asking=asking),
        pronunciations=PRONUNCIATIONS,
    )


@pytest.fixture(scope="module")
def recogniser(parts: Parts[Command]) -> PhonemeRecogniser[Command]:
    built = build_recogniser("phoneme", parts)
    assert isinstance(built, PhonemeRecogniser)
    return built


def test_a_dozen_commands_are_heard_from_the_whole_grammar(recogniser: PhonemeRecogniser[Command]) -> None:
    check_recogniser(recogniser, {text: espeak(text) for text in DOZEN})


@pytest.mark.parametrize("voice", ["en-gb", "en-gb-x-rp+f2", "en-us+m3"])
def test_other_voices_are_heard_too(recogniser: PhonemeRecogniser[Command], voice: str) -> None:
    found = [recogniser.recognise(espeak(text, voice)).text for text in DOZEN]

    assert sum(text == wanted for text, wanted in zip(found, DOZEN, strict=True)) >= 10


@pytest.mark.parametrize(
    "talk",
    [
        "can you pass me the salt please",
        "did you water the basil on the windowsill",
        "the delivery comes at half past four",
        "she said that the soup was too hot",
        "good morning how are you today",
        "two pizzas and one lasagna for table four",
    ],
)
def test_kitchen_talk_is_not_taken_for_a_command(recogniser: PhonemeRecogniser[Command], talk: str) -> None:
    assert not recogniser.recognise(espeak(talk)).accepted


def test_noise_is_not_taken_for_a_command(recogniser: PhonemeRecogniser[Command]) -> None:
    for level in (-60, -40, -20):
        for asking in Asking:
            assert not recogniser.recognise(Sound(white_noise(1.5, level)), asking=asking).accepted


def test_yes_and_no_are_only_for_an_open_question(recogniser: PhonemeRecogniser[Command]) -> None:
    for word in ("yes", "no"):
        assert recogniser.recognise(espeak(word), asking=Asking.ANSWER).text == word
        assert recogniser.recognise(espeak(word)).text != word


def test_a_command_can_be_given_while_a_question_is_open(recogniser: PhonemeRecogniser[Command]) -> None:
    assert recogniser.recognise(espeak("crumb ready"), asking=Asking.ANSWER).text == "crumb ready"


def test_loudness_hardly_matters(recogniser: PhonemeRecogniser[Command]) -> None:
    sound = espeak("water one fifty")
    quiet = Sound((sound.pcm * 0.05).astype(np.int16))
    clipped = Sound(np.clip(sound.pcm * 6.0, -32768, 32767).astype(np.int16))

    assert recogniser.recognise(quiet).text == recogniser.recognise(clipped).text == "water one fifty"


def test_numbers_that_sound_alike_are_the_rivals_and_the_twin_is_far_behind(
    recogniser: PhonemeRecogniser[Command],
) -> None:
    found = recogniser.recognise(espeak("scrap sixty"))
    behind = {rival.text: rival.behind for rival in found.alternatives}

    assert found.text == "scrap sixty"
    assert all(text.startswith("scrap six") or far > 10 for text, far in behind.items())
    assert behind.get("scrap sixteen", recogniser.limits.margin) > 10


def test_the_same_meaning_in_other_words_is_no_rival(recogniser: PhonemeRecogniser[Command]) -> None:
    sound = espeak("poured one hundred and fifty")
    graph = sentence_graph(["poured one hundred and fifty", "poured one hundred fifty"])
    wide = DecodingLimits(margin=200.0)

    def meaning_by(meaning: Callable[[str], str | None]) -> PhonemeRecogniser[str]:
        return PhonemeRecogniser(
            recogniser.experts,
            lambda _: graph,
            meaning=lambda text, _: meaning(text),
            confidence=recogniser.confidence,
            limits=wide,
        )

    by_text, without_meaning = meaning_by(str), meaning_by(lambda _: None)
    by_meaning = meaning_by(lambda text: text.replace(" and ", " "))

    assert 0 < by_text.recognise(sound).margin < wide.margin
    assert without_meaning.recognise(sound).margin == by_text.recognise(sound).margin
    assert by_meaning.recognise(sound).margin >= wide.margin


def test_what_is_no_longer_wanted_is_left_at_the_next_frame(recogniser: PhonemeRecogniser[Command]) -> None:
    """However often it was wanted before: in the networks, and in the search of each."""
    sound = espeak("water one fifty")
    asked = 0

    def counted() -> bool:
        nonlocal asked
        asked += 1
        return True

    whole = recogniser.recognise(sound, wanted=counted)
    assert whole == recogniser.recognise(sound)
    assert asked > 20
    for times in (0, 1, 2, asked // 2, asked - 1):
        answers = iter([True] * times)
        with pytest.raises(Overtaken):
            recogniser.recognise(sound, wanted=lambda: next(answers, False))  # noqa: B023


def test_cost_of_a_sentence_is_that_of_hearing_it(recogniser: PhonemeRecogniser[Command]) -> None:
    outputs = recogniser.outputs(espeak("crumb ready"))
    found = recogniser.decode(outputs)

    assert recogniser.cost_of("crumb ready", outputs) == pytest.approx(found.cost, abs=1e-4)
    assert recogniser.cost_of("make that two forty", outputs) > found.cost + 1
    assert math.isinf(recogniser.cost_of("", outputs))


def test_how_sure_it_is_decides_what_is_accepted(recogniser: PhonemeRecogniser[Command]) -> None:
    def by(confidence: Confidence) -> Recognition[str]:
        graph = sentence_graph(["crumb ready"])
        tested = PhonemeRecogniser(
            recogniser.experts, lambda _: graph, meaning=own_words, confidence=confidence
        )
        return tested.recognise(espeak("crumb ready"))

    def certain(odds: float) -> Confidence:
        return Confidence(math.log(odds), 0.0, 0.0, 0.0, 0.0, 0.0)

    assert [(by(certain(odds)).accepted, by(certain(odds)).near) for odds in (4.0, 1.0, 0.1)] == [
        (True, False),
        (False, True),
        (False, False),
    ]
    assert by(certain(4.0)).sure == pytest.approx(0.8)
    assert math.isinf(by(certain(4.0)).margin), "there is no other sentence"


@pytest.mark.parametrize("text", ["water one fifty", "rest twenty two minutes", "what's left"])
def test_the_frames_that_are_left_out_change_nothing(
    recogniser: PhonemeRecogniser[Command], text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    outputs = recogniser.outputs(espeak(text))
    found = recogniser.decode(outputs)
    assert len(spoken_frames(outputs[0], recogniser.network.blank)) < 0.7 * len(outputs[0])

    monkeypatch.setattr("assistant.asr.phoneme.spoken_frames", lambda output, _: np.arange(len(output)))
    whole = recogniser.decode(outputs)

    assert found.text == whole.text
    assert found.cost == pytest.approx(whole.cost, abs=0.02)
    assert found.margin == pytest.approx(whole.margin, abs=0.5)


def test_what_is_hopeless_for_the_first_network_changes_nothing(
    recogniser: PhonemeRecogniser[Command], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Words that the fine-tuned network was never taught included."""
    outputs = [recogniser.outputs(espeak(text)) for text in ("water one fifty", "the crumb isn't ready")]
    found = [recogniser.decode(output) for output in outputs]
    monkeypatch.setattr("assistant.asr.phoneme.HOPELESS", 1e6)

    for narrow, output in zip(found, outputs, strict=True):
        whole = recogniser.decode(output)
        assert narrow.text == whole.text
        assert narrow.cost == pytest.approx(whole.cost)
        assert narrow.margin == pytest.approx(whole.margin)


def without_slots() -> Grammar:
    """The grammar that ships, without the rules of open slots."""
    text = (grammar_folder() / "commands.jsgf").read_text(encoding="utf-8")
    return Grammar(parse_jsgf(text.replace("public <given_", "<given_"), "commands.jsgf"))


def recogniser_of(graph: WordGraph, like: PhonemeRecogniser[Command]) -> PhonemeRecogniser[str]:
    """Hears the sentences of one graph whatever is asked."""
    return PhonemeRecogniser(like.experts, lambda _: graph, meaning=own_words, confidence=like.confidence)


SAID = (*DOZEN, "two kilos", "no one thirty", "thirty one and a half", "the sauce timer", "pass me the salt")


def test_slots_change_nothing_while_nothing_is_asked(
    grammar: Grammar, recogniser: PhonemeRecogniser[Command]
) -> None:
    plain = without_slots()
    assert plain.layer(Asking.AMOUNT).words == frozenset()
    for asking in (Asking.NOTHING, Asking.ANSWER):
        assert grammar.layer(asking) == plain.layer(asking)
    heard = recogniser_of(plain.graph(Asking.NOTHING), recogniser)
    for said in SAID:
        outputs = recogniser.outputs(espeak(said))
        assert by_words(recogniser.decode(outputs)) == by_words(heard.decode(outputs))


@pytest.mark.parametrize("asking", [Asking.ANSWER, Asking.AMOUNT, Asking.PERCENT, Asking.TIMER])
def test_layers_find_what_one_graph_of_all_would(
    asking: Asking, grammar: Grammar, recogniser: PhonemeRecogniser[Command]
) -> None:
    heard = recogniser_of(grammar.graph(asking), recogniser)
    for said in SAID:
        outputs = recogniser.outputs(espeak(said))
        assert by_words(recogniser.decode(outputs, asking=asking)) == by_words(heard.decode(outputs))


def by_words(found: Recognition[Any]) -> tuple[str, float]:
    """The sentence and its cost: what does not depend on what rivals mean."""
    return found.text, found.cost


def test_a_slot_is_spelled_when_it_is_first_asked_for(parts: Parts[Command], grammar: Grammar) -> None:
    spelled: list[Asking] = []

    def layer(asking: Asking) -> WordGraph:
        spelled.append(asking)
        return grammar.layer(asking)

    built = build_recogniser("phoneme", replace(parts, layer=layer))
    assert spelled == [Asking.NOTHING]
    quiet = Sound(np.zeros(8_000, dtype=np.int16))
    for asking in (Asking.NOTHING, Asking.AMOUNT, Asking.AMOUNT, Asking.NOTHING):
        built.recognise(quiet, asking=asking)
    assert spelled == [Asking.NOTHING, Asking.AMOUNT, Asking.ANSWER]


class ScriptedTranscriber:
    """Finds the words of its script, while there is sound."""

    def __init__(self, words: Iterable[str]) -> None:
        self._words = tuple(words)
        self.asked: list[Asking] = []

    def words(self, sound: Sound, *, asking: Asking) -> tuple[str, ...]:
        self.asked.append(asking)
        return self._words if len(sound.pcm) else ()


def transcribed_as(text: str, recogniser: PhonemeRecogniser[Command]) -> VoskRecogniser[Command]:
    return VoskRecogniser(
        ScriptedTranscriber(text.split()),
        recogniser.layer,
        meaning=recogniser.meaning,
        second=recogniser,
    )


def test_two_opinions_that_agree_keep_the_margin(recogniser: PhonemeRecogniser[Command]) -> None:
    sound = espeak("crumb ready")

    found = transcribed_as("crumb ready", recogniser).recognise(sound)

    assert found.accepted
    assert found.margin == recogniser.recognise(sound).margin
    assert found.cost == pytest.approx(recogniser.recognise(sound).cost, abs=1e-4)


def test_two_opinions_that_differ_leave_no_margin(recogniser: PhonemeRecogniser[Command]) -> None:
    sound = espeak("water one fifty")

    found = transcribed_as("water one fifteen", recogniser).recognise(sound)

    assert (found.text, found.margin) == ("water one fifteen", 0.0)
    assert found.meaning == AddWater(Amount(115.0))
    assert found.alternatives[0].text == "water one fifty"
    assert found.alternatives[0].meaning == AddWater(Amount(150.0))


def test_a_sentence_that_the_sound_does_not_fit_is_not_accepted(
    recogniser: PhonemeRecogniser[Command],
) -> None:
    found = transcribed_as("poured half a kilo", recogniser).recognise(espeak("crumb ready"))

    assert not found.accepted
    assert found.cost > DISAGREED_COST


def test_words_that_are_not_a_sentence_are_not_accepted_either(
    recogniser: PhonemeRecogniser[Command],
) -> None:
    found = transcribed_as("crumb [unk] ready", recogniser).recognise(espeak("crumb ready"))

    assert not found.accepted
    assert found.alternatives[0].text == "crumb ready"


def test_an_engine_that_does_not_exist_is_refused(parts: Parts[Command]) -> None:
    names = " or ".join(f'"{name}"' for name in ENGINES)
    with pytest.raises(SettingsError, match=f'^Unknown recogniser "whispers"; use {names}\\.$'):
        build_recogniser("whispers", parts)


def test_the_first_recogniser_is_the_built_in_one() -> None:
    assert ENGINES[0] == PhonemeRecogniser.name


def test_vosk_without_a_model_is_refused(parts: Parts[Command]) -> None:
    with pytest.raises(ModelError, match="The vosk recogniser needs a model"):
        build_recogniser("vosk", parts)


def test_the_scripted_recogniser_keeps_the_ports_promises() -> None:
    sound = Sound(np.ones(1600, dtype=np.int16))
    script = ScriptedRecogniser([*[NOTHING_HEARD] * len(Asking), "undo", "undo"], str)

    check_recogniser(script, {"undo": sound})

    assert script.asked == [*Asking, *Asking, Asking.NOTHING, Asking.NOTHING]

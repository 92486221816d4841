"""A heard sentence is parsed once: its hypothesis carries the command from recogniser to decision."""

from collections import Counter

import numpy as np
import pytest

from assistant.app.application import Application, open_application
from assistant.batch.record.commands import AddWater, Answer, Command, Scrap
from assistant.config.home import Home
from assistant.dough.amounts import Amount
from assistant.hearing.early_decision import Spoken
from assistant.hearing.recognising import at_once
from assistant.nlu import Grammar
from assistant.ports import Asking, Hypothesis, Recognition
from assistant.station.loop import hear
from assistant.station.messages import Heard
from tests.asr.speech import espeak
from tests.station.stand import Stand


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Application:
    return open_application(Home.find(tmp_path_factory.mktemp("home")))


@pytest.fixture
def parsed(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each sentence was parsed."""
    count: Counter[str] = Counter()
    parse = Grammar.parse

    def counting(self: Grammar, text: str, *, asking: Asking = Asking.NOTHING) -> Command | None:
        count[text] += 1
        return parse(self, text, asking=asking)

    monkeypatch.setattr(Grammar, "parse", counting)
    return count


def _recognised(app: Application, said: str) -> Recognition[Command]:
    """What the built-in recogniser and the early decision make of a sentence with quiet around it."""
    listener = app.listener(at_once(app.recogniser(), lambda: Asking.NOTHING))
    quiet = np.zeros(16_000, np.int16)
    sound = np.concatenate([quiet, espeak(said).pcm, quiet])
    blocks = np.split(sound, range(512, len(sound), 512))
    spoken: list[Spoken] = [over for block in blocks for over in listener.feed(block)]
    [over] = spoken or listener.flush()
    return over.recognition.result()


@pytest.mark.parametrize(
    ("said", "command"),
    [("scrap sixty grams", Scrap(Amount(60.0))), ("water fourteen grams", AddWater(Amount(14.0)))],
)
def test_each_hypothesis_is_parsed_once_on_its_way_to_the_decision(
    app: Application, parsed: Counter[str], said: str, command: Command
) -> None:
    found = _recognised(app, said)
    assert (found.text, found.meaning) == (said, command)
    assert found.alternatives, "there is nothing to rescore"

    stand = Stand()
    stand.say("new batch fifteen hundred")
    turn = hear(stand.station, Heard(found), 4.0)

    assert turn is not None
    assert turn.command == command
    assert {text: parsed[text] for text in (found.text, *(one.text for one in found.alternatives))} == {
        one.text: 1 for one in (found.best, *found.alternatives)
    }


def test_a_sentence_that_is_decoded_twice_is_parsed_once(app: Application, parsed: Counter[str]) -> None:
    recogniser = app.recogniser()
    sound = espeak("undo")

    assert recogniser.recognise(sound) == recogniser.recognise(sound)
    assert parsed
    assert set(parsed.values()) == {1}


def test_a_typed_line_is_parsed_once(parsed: Counter[str]) -> None:
    Stand().station.hear("new batch fifteen hundred", source="keyboard")
    assert parsed == {"new batch fifteen hundred": 1}


def test_an_answer_that_comes_too_late_is_talk(parsed: Counter[str]) -> None:
    """It was recognised while a question was open, and is acted on after that: as if it were parsed now."""
    stand = Stand()
    late: Recognition[Command] = Recognition(
        Hypothesis("yes", Answer(yes=True), 0.1), accepted=True, margin=20.0
    )
    assert stand.station.asking == Asking.NOTHING
    assert stand.station.recognised(late, unsure=False).command is None
    assert not parsed["yes"]

"""Whether a sentence could go on depends on what is asked; how long is waited, on whether it could."""

from concurrent.futures import Future

import numpy as np
import pytest

from assistant.batch.record.commands import Command
from assistant.hearing.early_decision import Patience, PatientListener, SentenceEnds
from assistant.ports import SPEECH_RATE, Asking, Recognition, Utterance
from tests.station.stand import grammar, understood
from tests.station.test_live_hearing import LevelEndpointer

END_S = 0.7
ENDS = SentenceEnds(grammar().continuations, grammar().parse)


@pytest.mark.parametrize(
    ("text", "asking", "goes_on"),
    [
        ("water one fifty grams", Asking.NOTHING, False),
        ("water one", Asking.NOTHING, True),
        ("yes please", Asking.ANSWER, False),
        ("no", Asking.ANSWER, True),  # "no it's dry", a report
        ("no", Asking.AMOUNT, True),  # "no one thirty"
        ("one thirty grams", Asking.AMOUNT, True),  # "one thirty grams scrap"
        ("one thirty grams please", Asking.AMOUNT, False),
        ("two", Asking.AMOUNT, True),
        ("egg", Asking.RECIPE, True),  # "egg batch", a command,
        ("sauce", Asking.TIMER, True),  # "sauce two minutes"
        ("the sauce timer", Asking.TIMER, True),  # "the sauce timer off"
        ("the sauce one", Asking.TIMER, False),
        ("rest", Asking.TIMER, True),  # "rest ten minutes", a command
        ("one kilo", Asking.ANSWER, None),
        ("no", Asking.NOTHING, None),
        ("water", Asking.RECIPE, True),
        ("basil", Asking.AMOUNT, None),
    ],
)
def test_whether_more_could_be_meant(text: str, asking: Asking, goes_on: bool | None) -> None:
    meant = grammar().parse(text, asking=asking)
    if goes_on is None:
        meant = grammar().parse("undo")
    assert meant is not None
    assert ENDS.can_go_on(text, meant, asking) is goes_on


def test_a_second_command_in_the_same_breath_is_not_waited_for() -> None:
    meant = grammar().parse("crumb ready")
    assert meant is not None
    assert grammar().parse("crumb ready and rest") not in (None, meant)
    assert ENDS.can_go_on("crumb ready", meant, Asking.NOTHING) is False


@pytest.mark.parametrize(
    ("text", "waited"),
    [
        ("undo", Patience().closed_s),
        ("water one", Patience().open_s),
        ("lot four one seven", END_S),  # its signs are said one by one, with pauses
    ],
)
def test_how_long_is_waited(text: str, waited: float) -> None:
    def recognise(_utterance: Utterance) -> "Future[Recognition[Command]]":
        done: Future[Recognition[Command]] = Future()
        done.set_result(understood(text))
        return done

    listener = PatientListener(LevelEndpointer(END_S), recognise, ENDS, Patience(), act_above=0.0)
    block = SPEECH_RATE // 100
    listener.feed(np.full(SPEECH_RATE // 2, 8000, np.int16))
    blocks = 1
    while not listener.feed(np.zeros(block, np.int16)):
        blocks += 1
    assert blocks * 0.01 == pytest.approx(waited, abs=0.011)

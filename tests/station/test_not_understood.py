"""What means nothing: said so where the station is spoken to, and left alone in open listening."""

from dataclasses import replace

import pytest

from assistant.app.live_station import is_talk
from assistant.batch.record.commands import GivenAmount
from assistant.batch.record.steps import Walking
from assistant.dough.amounts import Amount
from assistant.ports import NOTHING_HEARD, Asking
from assistant.station.loop import hear
from assistant.station.messages import Heard, Message
from assistant.station.station import Turn
from tests.station.stand import Stand, understood


def keys(turn: Turn | None) -> list[str]:
    return [] if turn is None else [reply.key for reply in turn.replies]


def heard(stand: Stand, text: str, *, addressed: bool = False) -> Turn | None:
    """The turn of a sentence that fits no better than talk does."""
    return hear(stand.station, Heard(understood(text, accepted=False), addressed=addressed), 3.0)


@pytest.fixture
def asked() -> Stand:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("water six hundred")
    assert stand.station.state.question is not None
    return stand


# ---- at a keyboard


def test_a_slip_is_asked_about_and_a_yes_carries_it_out() -> None:
    stand = Stand()
    turn = stand.station.hear("new bacth fifteen hundred", source="keyboard")
    assert (turn.said, turn.command) == ("new bacth fifteen hundred", None)
    assert keys(turn) == ["ask_unsure_amount"]
    assert stand.station.state.batch is None
    stand.station.hear("yes", source="keyboard")
    assert stand.station.state.batch is not None


@pytest.mark.parametrize("line", ["lot eight or nine", "close the bag", "lots to do"])
def test_what_is_not_near_is_answered_and_nothing_happens(line: str) -> None:
    stand = Stand()
    before = stand.station.state
    assert keys(stand.station.hear(line, source="keyboard"))[0].startswith("not_understood")
    assert stand.station.state == before


def test_the_open_question_is_said_again(asked: Stand) -> None:
    assert keys(asked.station.hear("perhaps", source="keyboard")) == ["yes_or_no"]
    assert asked.station.state.question is not None


# ---- at a microphone


def test_an_open_question_is_said_again_once(asked: Stand) -> None:
    assert keys(heard(asked, "crumb dry")) == ["yes_or_no"]
    assert heard(asked, "crumb dry") is None
    assert asked.station.state.question is not None


def test_what_asks_for_a_value_says_so_again() -> None:
    stand = Stand()
    stand.say("lot")
    turn = heard(stand, "crumb dry")
    assert turn is not None
    assert [reply.text for reply in turn.replies] == ["Which lot?"]


def test_in_open_listening_talk_is_left_alone() -> None:
    assert heard(Stand(), "crumb dry") is None


def test_who_asked_to_be_heard_is_told() -> None:
    assert keys(heard(Stand(), "crumb dry", addressed=True)) == ["say_again"]


def test_noise_without_a_sentence_is_not_answered(asked: Stand) -> None:
    assert hear(asked.station, Heard(NOTHING_HEARD, addressed=True), 3.0) is None


def test_with_ears_off_nothing_is_said() -> None:
    stand = Stand()
    stand.say("ears off")
    assert heard(stand, "crumb dry", addressed=True) is None


def test_a_live_station_speaks_what_it_has_to_say_to_a_sentence_without_meaning(asked: Stand) -> None:
    message: Message = Heard(understood("crumb dry", accepted=False))
    turn = heard(asked, "crumb dry")
    assert turn is not None
    assert not is_talk(turn, message)
    assert is_talk(Turn(0.0, "basil", None, ()), message)
    assert not is_talk(Turn(0.0, None, None, ()), None)


# ---- with an attention word


def test_with_an_attention_word_a_read_back_does_not_open_the_ears() -> None:
    """While anything is open no sentence needs the word: that is for questions alone."""
    stand = Stand(attention_word=True)
    stand.say("new batch fifteen hundred")
    after_entry = stand.station.asking
    stand.say("water six hundred")
    assert (after_entry, stand.station.asking) == (Asking.NOTHING, Asking.AMOUNT)


def test_with_an_attention_word_a_walk_through_is_gone_on_with_as_before() -> None:
    stand = Stand(attention_word=True)
    stand.say("timer one ten minutes")
    before = stand.station.asking
    stand.station.state = replace(stand.station.state, walks=(Walking("opening check", (), 0.0),))
    assert (before, stand.station.asking) == (Asking.NOTHING, Asking.ANSWER)


def test_a_keyboard_needs_no_word_to_correct() -> None:
    stand = Stand(attention_word=True)
    stand.station.hear("new batch 1500", source="keyboard")
    turn = stand.station.hear("no, 1600", source="keyboard")
    assert turn.command == GivenAmount(Amount(1600.0, exact=True))
    batch = stand.station.state.batch
    assert batch is not None
    assert batch.flour_g == 1600

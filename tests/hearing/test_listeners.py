"""What stands in the way of hearing reaches the cook, the lamp, and only once."""

import threading
from concurrent.futures import Future
from queue import Queue

import numpy as np
import pytest

from assistant.batch.record.commands import Command
from assistant.devices.lamp import DARK, STEADY
from assistant.hearing.early_decision import Patience, PatientListener, SentenceEnds
from assistant.hearing.endpointing import Endpointing, SpeechEndpointer
from assistant.hearing.gate import Gate
from assistant.hearing.health import Health, HealthReports, Hearing
from assistant.hearing.listeners import LiveHearing, RecordedHearing, in_blocks
from assistant.ports import NOTHING_HEARD, SPEECH_RATE, Hypothesis, Pcm, Recognition, Utterance
from assistant.station.loop import Loop
from assistant.station.messages import Heard, Message, Noticed
from assistant.station.station import Turn
from assistant.testing.sound import FakeMicrophone
from tests.devices.test_fittings import Kit
from tests.station.stand import Stand, grammar, meaning, understood
from tests.station.test_live_hearing import LevelEndpointer

BLOCK = 512


class ScriptedHealth(Health):
    """Finds what its script says, a line a block; notes the utterances that it was told of."""

    def __init__(self, script: list[Hearing | None]) -> None:
        super().__init__()
        self._script = iter(script)
        self.told: list[bool] = []

    def feed(self, _block: Pcm) -> Hearing | None:
        return next(self._script, None)

    def utterance(self, _sound: Pcm, *, understood: bool) -> Hearing | None:
        self.told.append(understood)
        return None


def keys(
    script: list[Hearing | None], sound: Pcm, *, busy: bool = False
) -> tuple[list[Message], ScriptedHealth]:
    """What hearing with this health post while they hear a sound, block by block."""
    inbox, health, stand = Queue[Message](), ScriptedHealth(script), Stand()

    def recognise(_utterance: Utterance) -> "Future[Recognition[Command]]":
        done: Future[Recognition[Command]] = Future()
        done.set_result(understood("undo"))
        return done

    ends = SentenceEnds(grammar().continuations, grammar().parse)
    listener = PatientListener(LevelEndpointer(), recognise, ends, Patience(), act_above=0.85)
    microphone = FakeMicrophone(sound)
    hearing = LiveHearing(
        lambda: microphone,
        listener,
        Gate(),
        inbox,
        now=stand.clock.monotonic,
        busy=lambda: busy,
        health=HealthReports(health),
    )
    assert sum(1 for _ in hearing._take(microphone, threading.Event()))
    return [inbox.get_nowait() for _ in range(inbox.qsize())], health


NOISE = np.full(SPEECH_RATE, 9, np.int16)


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ([Hearing.TOO_LOUD, None, Hearing.WELL], ["too_loud", "hearing_again"]),
        ([Hearing.CLIPPED, Hearing.WELL], ["clipped"]),
        ([Hearing.CLIPPED, Hearing.TOO_LOUD, Hearing.WELL], ["clipped", "too_loud", "hearing_again"]),
        ([None, None], []),
    ],
)
def test_a_change_is_posted(script: list[Hearing | None], said: list[str]) -> None:
    posted, _ = keys(script, NOISE)
    assert [message.key for message in posted if isinstance(message, Noticed)] == said


def test_our_own_voice_says_nothing_of_the_room() -> None:
    posted, _ = keys([Hearing.TOO_LOUD], NOISE, busy=True)
    assert posted == []


def test_health_learns_what_was_understood() -> None:
    loud, quiet = np.full(SPEECH_RATE // 2, 8000, np.int16), np.zeros(SPEECH_RATE // 2, np.int16)
    posted, health = keys([], np.concatenate([loud, quiet, quiet]))
    assert [type(message) for message in posted] == [Heard]
    assert health.told == [True]


def test_the_cook_is_told_and_the_lamp_is_dark_until_it_is_over() -> None:
    kit = Kit()
    station = kit.stand.station
    told: list[Turn] = []
    inbox: Queue[Message] = Queue()
    loop = Loop(station, inbox, lambda turn, _: told.append(turn), act_above=0.85)
    shown = []
    for key in ("too_loud", "clipped", "hearing_again"):
        inbox.put(Noticed(key))
        loop.turn(wait=False)
        shown.append(kit.follow(told[-1], Noticed(key)))
    assert [turn.replies[0].key for turn in told] == ["too_loud", "clipped", "hearing_again"]
    assert shown == [DARK, DARK, STEADY]


def test_what_can_be_meant_decides_between_sentences_heard_alike() -> None:
    stand = Stand()
    stand.station.hear("new batch fifteen hundred")
    odd, even = "water one sixty three", "water one sixty"

    def found(behind: float) -> Recognition[Command]:
        rival: Hypothesis[Command] = Hypothesis(even, meaning(even), 0.5, behind)
        return Recognition(Hypothesis(odd, meaning(odd), 0.5), True, behind, (rival,))

    rescored = stand.station.rescore(found(0.2))
    assert (rescored.text, rescored.meaning, rescored.margin) == (even, meaning(even), 0.0)
    assert stand.station.rescore(found(9.0)).text == odd


def test_a_recording_in_a_loud_room_is_told_once() -> None:
    """Two sentences that hardly stand out and are not understood: said once, by the recording's own time."""
    stand = Stand()
    rng = np.random.default_rng(4)

    def sound(seconds: float, rms: float) -> Pcm:
        pcm: Pcm = rng.normal(0, rms, round(seconds * SPEECH_RATE)).astype(np.int16)
        return pcm

    def recognise(_utterance: Utterance) -> "Future[Recognition[Command]]":
        done: Future[Recognition[Command]] = Future()
        done.set_result(NOTHING_HEARD)
        return done

    ends = SentenceEnds(grammar().continuations, grammar().parse)
    probability = iter([0.0] * 60 + ([1.0] * 30 + [0.0] * 30) * 4)
    endpointer = SpeechEndpointer(Endpointing(), lambda _: next(probability, 0.0))
    listener = PatientListener(endpointer, recognise, ends, Patience(), act_above=0.85)
    hearing = RecordedHearing(stand.loop, stand.inbox, stand.clock, listener)
    in_blocks([sound(10.0, 2000)], hearing)
    assert [reply.key for turn in stand.turns for reply in turn.replies] == ["too_loud"]

"""A recogniser that hangs, fails or crashes is ended and begun anew; it is told once, and heard on."""

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, wait
from contextlib import closing
from queue import Queue
from typing import NoReturn

import numpy as np
import pytest

from assistant.apart import Channel
from assistant.batch.record.commands import Command
from assistant.errors import ApartError, ModelError
from assistant.hearing.early_decision import Patience, PatientListener, SentenceEnds
from assistant.hearing.gate import Gate
from assistant.hearing.listeners import LiveHearing
from assistant.hearing.recogniser_apart import ANSWER_S, RecogniserApart, serve
from assistant.hearing.recognising import MOST_WAITING, RecogniserThread
from assistant.ports import Asking, Overtaken, Recognition, Sound, Utterance, Wanted, always
from assistant.station.alive.vital_parts import Parts
from assistant.station.messages import Found, Heard, Lost, Message
from assistant.testing.apart import FakeApart
from assistant.testing.audio import ScriptedRecogniser
from assistant.testing.sound import FakeMicrophone
from tests.station.stand import meaning, understood
from tests.station.test_live_hearing import LevelEndpointer

SOUND = Sound(np.full(16_000, 900, np.int16))
Serve = Callable[[Channel, threading.Event], None]


def hears(*script: str) -> Serve:
    """A process that hears what its script says."""
    return lambda channel, _: serve(channel, lambda: ScriptedRecogniser[Command](script, meaning))


def hangs(channel: Channel, ended: threading.Event) -> None:
    """One that loads, takes an utterance, and hangs until it is killed."""
    channel.send("hangs")
    assert channel.ready(5)
    channel.receive(0)
    ended.wait()


def fails(channel: Channel, _ended: threading.Event) -> None:
    """One whose recogniser raises what ours never should."""

    class Broken(ScriptedRecogniser[Command]):
        def recognise(
            self,
            sound: Sound,  # noqa: ARG002
            *,
            asking: Asking = Asking.NOTHING,  # noqa: ARG002
            wanted: Wanted = always,  # noqa: ARG002
        ) -> NoReturn:
            raise MemoryError("no room")

    serve(channel, lambda: Broken([], meaning))


def crashes(channel: Channel, _ended: threading.Event) -> None:
    """One that ends as by a fault in a library."""
    channel.send("crashes")
    channel.ready(5)


class Stand:
    """A recogniser whose processes are these, one after the other; its time passes when it is asked."""

    def __init__(self, *serves: Serve, step_s: float = 1.0) -> None:
        self.processes: list[FakeApart] = []
        self.inbox: Queue[Message] = Queue()
        self._serves: Iterator[Serve] = iter(serves)
        self._now = 0.0
        self._step_s = step_s
        self.parts = Parts(self.inbox, lambda: self._now)
        self.recogniser: RecogniserApart[Command] = RecogniserApart(self._start, self.parts, self._time)
        self.recogniser.wait_until_ready()

    def _start(self) -> FakeApart:
        self.processes.append(FakeApart(next(self._serves), "recogniser"))
        return self.processes[-1]

    def _time(self) -> float:
        self._now += self._step_s
        return self._now

    @property
    def told(self) -> list[Message]:
        return [self.inbox.get_nowait() for _ in range(self.inbox.qsize())]


def test_it_hears_what_its_process_hears() -> None:
    stand = Stand(hears("water one fifty"))
    with closing(stand.recogniser) as recogniser:
        assert recogniser.name == "scripted"
        assert recogniser.recognise(SOUND) == understood("water one fifty")
    assert stand.told == []


@pytest.mark.parametrize(
    ("bad", "cause"),
    [
        (hangs, "the recogniser hangs: it was ended, and is begun anew"),
        (fails, "the recogniser failed: MemoryError: no room"),
        (crashes, "the recogniser is gone (it ended)"),
    ],
)
def test_one_that_goes_wrong_is_ended_told_once_and_hears_again(bad: Serve, cause: str) -> None:
    stand = Stand(bad, hears("water one fifty"))
    with closing(stand.recogniser) as recogniser:
        with pytest.raises(ApartError) as error:
            recogniser.recognise(SOUND)
        assert str(error.value) == cause
        assert stand.processes[0].killed
        assert stand.told == [Lost("recogniser", cause), Found("recogniser")]
        assert recogniser.recognise(SOUND) == understood("water one fifty")
    assert stand.processes[1].killed
    assert stand.told == []


def test_it_waits_for_an_answer_as_long_as_it_says_and_the_sound_is() -> None:
    stand = Stand(hangs, hears())
    with closing(stand.recogniser) as recogniser, pytest.raises(ApartError):
        recogniser.recognise(Sound(np.zeros(12 * 16_000, np.int16)))
    # One second passes with each question for the time: the first is that for the deadline.
    assert stand._now == 2 + ANSWER_S + 12


def test_what_is_no_longer_wanted_is_left_there_too() -> None:
    left = threading.Event()

    class Working(ScriptedRecogniser[Command]):
        def recognise(
            self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
        ) -> Recognition[Command]:
            if not left.is_set():
                while wanted():
                    pass
                left.set()
                raise Overtaken
            return super().recognise(sound, asking=asking)

    stand = Stand(lambda channel, _: serve(channel, lambda: Working(["undo"], meaning)), step_s=0.0)
    with closing(stand.recogniser) as recogniser:
        with pytest.raises(Overtaken):
            recogniser.recognise(SOUND, wanted=lambda: False)
        assert left.is_set()
        assert recogniser.recognise(SOUND) == understood("undo")
    assert stand.told == []


def test_one_that_can_not_be_loaded_says_why() -> None:
    def load() -> ScriptedRecogniser[Command]:
        raise ModelError("the model is damaged; fetch it again")

    with pytest.raises(ModelError) as refusal:
        Stand(lambda channel, _: serve(channel, load))
    assert str(refusal.value) == "the model is damaged; fetch it again"


def test_closing_lets_go_who_waits_for_one_that_hangs() -> None:
    begun = threading.Event()

    def begins_and_hangs(channel: Channel, ended: threading.Event) -> None:
        channel.send("hangs")
        assert channel.ready(5)
        begun.set()
        ended.wait()

    stand = Stand(begins_and_hangs, step_s=0.0)
    recognise = RecogniserThread(stand.recogniser, lambda: Asking.NOTHING, parts=stand.parts)
    waiting = recognise(Utterance(0, 1, SOUND))
    assert begun.wait(5)
    stand.recogniser.close()
    recognise.close(5)
    assert isinstance(waiting.exception(5), ApartError)
    assert not recognise._thread.is_alive()


def test_of_too_many_utterances_that_wait_the_oldest_are_left_out() -> None:
    begun, go_on = threading.Event(), threading.Event()

    class Slow(ScriptedRecogniser[Command]):
        def recognise(
            self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
        ) -> Recognition[Command]:
            begun.set()
            assert go_on.wait(5)
            return super().recognise(sound, asking=asking, wanted=wanted)

    with closing(RecogniserThread(Slow(["undo"] * 20, meaning), lambda: Asking.NOTHING)) as recognise:
        first = recognise(Utterance(0, 1, SOUND))
        assert begun.wait(5)
        others = [recognise(Utterance(0, 1, SOUND)) for _ in range(MOST_WAITING + 1)]
        assert [one.cancelled() for one in (first, *others)] == [False, True, *[False] * MOST_WAITING]
        go_on.set()
        assert first.result(5).text == "undo"
        assert [one.result(5).text for one in others[1:]] == ["undo"] * MOST_WAITING


def test_an_utterance_on_which_it_hung_is_told_once_and_the_next_is_heard() -> None:
    """The whole way, from the microphone's blocks to the loop's queue."""
    stand = Stand(hangs, hears("undo"))
    loud, quiet = np.full(8000, 900, np.int16), np.zeros(8000, np.int16)
    ends = SentenceEnds(lambda *_, **__: None, lambda *_, **__: None)

    def recognise(utterance: Utterance) -> "Future[Recognition[Command]]":
        """In the thread, and waited for: the next block comes when it is over."""
        done = thread(utterance)
        wait([done], 5)
        return done

    with (
        closing(stand.recogniser),
        closing(RecogniserThread(stand.recogniser, lambda: Asking.NOTHING)) as thread,
    ):
        hearing = LiveHearing(
            lambda: FakeMicrophone(quiet),
            PatientListener(LevelEndpointer(), recognise, ends, Patience(), act_above=0.85),
            Gate(),
            stand.inbox,
            now=lambda: 0.0,
            busy=lambda: False,
            parts=stand.parts,
        )
        sound = FakeMicrophone(np.concatenate([loud, quiet, loud, quiet]))
        assert sum(1 for _ in hearing._take(sound, threading.Event()))
        assert [type(one) for one in stand.told] == [Lost, Found, Heard]

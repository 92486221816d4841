"""From blocks of sound to messages: live, in threads of their own, or from a recording, step by step."""

import threading
from collections.abc import Callable, Iterable
from concurrent.futures import Future, InvalidStateError, ThreadPoolExecutor
from contextlib import suppress
from queue import Queue

from assistant.batch.record.commands import Command
from assistant.clock import ScriptedClock
from assistant.errors import SoundError
from assistant.hearing.early_decision import PatientListener, Recognise, Spoken
from assistant.hearing.gate import Gate
from assistant.hearing.health import HealthReports
from assistant.hearing.level import own_snr_db
from assistant.ports import (
    SPEECH_RATE,
    Asking,
    Microphone,
    Overtaken,
    Pcm,
    Recogniser,
    Recognition,
    Sound,
    Utterance,
)
from assistant.station.loop import Loop
from assistant.station.messages import Died, Found, Heard, Lost, Message, Noticed

BACK_OFF_S = (1.0, 2.0, 5.0, 10.0)
"""Seconds between tries to get a lost microphone back; the last one repeats."""

_BLOCK = 512


def at_once(recogniser: Recogniser[Command], asking: Callable[[], Asking]) -> Recognise:
    """Recognise in the thread that asks."""

    def recognise(utterance: Utterance) -> "Future[Recognition[Command]]":
        done: Future[Recognition[Command]] = Future()
        done.set_result(recogniser.recognise(utterance.sound, asking=asking()))
        return done

    return recognise


def in_pool(
    recogniser: Recogniser[Command], asking: Callable[[], Asking], pool: ThreadPoolExecutor
) -> Recognise:
    """Recognise in the pool's thread, so that no sound is missed in the meantime.

    What is cancelled is left even when it has begun, so that what comes after it does not wait for it.
    """

    def work(sound: Sound, asked: Asking, done: "Future[Recognition[Command]]") -> None:
        if done.cancelled():
            return
        with suppress(InvalidStateError, Overtaken):  # cancelled in the meantime: nobody waits for it
            try:
                found = recogniser.recognise(sound, asking=asked, wanted=lambda: not done.cancelled())
            except Overtaken:
                raise
            except BaseException as error:
                done.set_exception(error)
            else:
                done.set_result(found)

    def recognise(utterance: Utterance) -> "Future[Recognition[Command]]":
        # Never marked as running, so that it can be cancelled until it is there.
        done: Future[Recognition[Command]] = Future()
        pool.submit(work, utterance.sound, asking(), done)
        return done

    return recognise


class RecordedHearing:
    """Hears a recording as if it were the microphone; the scripted clock follows the recording.

    `loop` takes what is put into `inbox`. `gate` and `busy`: the half-duplex gate of a speaker that plays
    meanwhile. `devices`: brings devices that were recorded too up to a time (s, station time); they post to
    `inbox`.
    """

    def __init__(
        self,
        loop: Loop,
        inbox: "Queue[Message]",
        clock: ScriptedClock,
        listener: PatientListener,
        *,
        gate: Gate | None = None,
        busy: Callable[[], bool] = lambda: False,
        devices: Callable[[float], None] = lambda _: None,
    ) -> None:
        self._loop = loop
        self._inbox = inbox
        self._clock = clock
        self._listener = listener
        self._gate = gate
        self._busy = busy
        self._devices = devices
        self._health = HealthReports()

    def feed(self, sound: Pcm) -> None:
        """Hear the next stretch (int16, `SPEECH_RATE`); what falls due in it comes at its time."""
        for start in range(0, len(sound), _BLOCK):
            block = sound[start : start + _BLOCK]
            self._loop.pass_time(self._clock, len(block) / SPEECH_RATE)
            now = self._clock.monotonic()
            self._devices(now)
            self._loop.take_waiting()
            audible = block if self._gate is None else self._gate.hear(block, now, self._busy())
            if audible is block:
                for key in self._health.block(block):
                    self._take(Noticed(key))
            for spoken in self._listener.feed(audible):
                self._hear(spoken)

    def flush(self) -> None:
        """The recording is over."""
        for spoken in self._listener.flush():
            self._hear(spoken)

    def _hear(self, spoken: Spoken) -> None:
        clipped = _cut_by_us(self._gate, spoken.utterance)
        found, sound = spoken.recognition.result(), spoken.utterance.sound.pcm
        self._health.spoken(sound, understood=found.accepted)
        self._take(Heard(found, clipped, snr_db=own_snr_db(sound)))

    def _take(self, message: Message) -> None:
        self._inbox.put(message)
        self._loop.take_waiting()


class LiveHearing:
    """A worker that takes the microphone's blocks and finds speech; recognising may go on in another thread.

    `open_microphone` opens a fresh microphone, also after one was lost. `busy` is called from the worker's
    thread. `addressed`: whether the cook asked to be heard; called from the recogniser's.
    """

    def __init__(
        self,
        open_microphone: Callable[[], Microphone],
        listener: PatientListener,
        gate: Gate,
        inbox: "Queue[Message]",
        *,
        now: Callable[[], float],
        busy: Callable[[], bool],
        health: HealthReports | None = None,
        addressed: Callable[[], bool] = lambda: False,
    ) -> None:
        self._addressed = addressed
        self._health = health or HealthReports()
        self._open = open_microphone
        self._listener = listener
        self._gate = gate
        self._inbox = inbox
        self._now = now
        self._busy = busy

    def capture(self, stop: threading.Event) -> None:
        """Take blocks until stopped; a microphone that is lost is tried again, the back-off growing."""
        tries = 0
        while not stop.is_set():
            try:
                microphone = self._open()
            except SoundError as error:
                self._lost(error, tries)
                stop.wait(BACK_OFF_S[min(tries, len(BACK_OFF_S) - 1)])
                tries += 1
                continue
            if tries:
                self._inbox.put(Found("microphone"))
            tries = 0
            try:
                self._take(microphone, stop)
            except SoundError as error:
                self._lost(error, tries)
                tries = 1
            finally:
                microphone.close()

    def _take(self, microphone: Microphone, stop: threading.Event) -> None:
        for block in microphone.blocks():
            if stop.is_set():
                return
            now = self._now()
            audible = self._gate.hear(block, now, self._busy())
            if audible is block:
                for key in self._health.block(block):
                    self._inbox.put(Noticed(key))
            for spoken in self._listener.feed(audible):
                self._post_when_recognised(spoken)

    def _post_when_recognised(self, spoken: Spoken) -> None:
        clipped = _cut_by_us(self._gate, spoken.utterance)

        def post(done: "Future[Recognition[Command]]") -> None:
            error = done.exception()
            if error is None:
                sound = spoken.utterance.sound.pcm
                self._health.spoken(sound, understood=done.result().accepted)
                ratio = own_snr_db(sound)
                self._inbox.put(Heard(done.result(), clipped, ratio, self._addressed()))
            else:
                self._inbox.put(Died("recogniser", f"{type(error).__name__}: {error}"))

        spoken.recognition.add_done_callback(post)

    def _lost(self, error: SoundError, tries: int) -> None:
        if tries == 0:
            self._inbox.put(Lost("microphone", str(error)))


def _cut_by_us(gate: Gate | None, utterance: Utterance) -> bool:
    """Whether our own voice cut into what was said."""
    return gate is not None and gate.clipped(utterance.start, utterance.end)


def in_blocks(blocks: Iterable[Pcm], hearing: RecordedHearing) -> None:
    """Feed a recording's blocks to their end."""
    for block in blocks:
        hearing.feed(block)
    hearing.flush()

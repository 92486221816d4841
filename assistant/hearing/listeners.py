"""From blocks of sound to messages: live, in threads of their own, or from a recording, step by step."""

import threading
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from queue import Queue

from assistant.clock import ScriptedClock
from assistant.errors import SoundError
from assistant.hearing.early_decision import PatientEar, Recognise, Spoken
from assistant.hearing.gate import Gate
from assistant.hearing.health import HealthReports
from assistant.hearing.level import own_snr_db
from assistant.ports import SPEECH_RATE, Asking, Microphone, Pcm, Recogniser, Recognition, Utterance
from assistant.station.loop import Listener, act, hear
from assistant.station.messages import Died, Found, Heard, Lost, Message, Noticed, Pressed, Weighed
from assistant.station.station import Station

BACK_OFF_S = (1.0, 2.0, 5.0, 10.0)
"""Seconds between tries to get a lost microphone back; the last one repeats."""

_BLOCK = 512


def at_once(recogniser: Recogniser, asking: Callable[[], Asking]) -> Recognise:
    """Recognise in the thread that asks."""

    def recognise(utterance: Utterance) -> "Future[Recognition]":
        done: Future[Recognition] = Future()
        done.set_result(recogniser.recognise(utterance.sound, asking=asking()))
        return done

    return recognise


def in_pool(recogniser: Recogniser, asking: Callable[[], Asking], pool: ThreadPoolExecutor) -> Recognise:
    """Recognise in the pool's thread, so that no sound is missed meanwhile."""

    def recognise(utterance: Utterance) -> "Future[Recognition]":
        return pool.submit(recogniser.recognise, utterance.sound, asking=asking())

    return recognise


class RecordedHearing:
    """Hears a recording as if it were the microphone; the scripted clock follows the recording."""

    def __init__(
        self,
        station: Station,
        clock: ScriptedClock,
        ear: PatientEar,
        listener: Listener,
        *,
        min_margin: float,
    ) -> None:
        self._station = station
        self._clock = clock
        self._ear = ear
        self._listener = listener
        self._min_margin = min_margin
        self._care = HealthReports()
        self._gate: Gate | None = None
        self._busy: Callable[[], bool] = lambda: False
        self._devices: Callable[[float], Iterable[Pressed | Noticed | Weighed]] = lambda _: ()

    def through(self, gate: Gate, busy: Callable[[], bool]) -> "RecordedHearing":
        """Put the half-duplex gate of a speaker before the ears; gives itself."""
        self._gate, self._busy = gate, busy
        return self

    def beside(self, devices: Callable[[float], Iterable[Pressed | Noticed | Weighed]]) -> "RecordedHearing":
        """Devices that were recorded too: `devices` gives what they report up to a time (s); gives itself."""
        self._devices = devices
        return self

    def feed(self, sound: Pcm) -> None:
        """Hear the next stretch (int16, `SPEECH_RATE`); what falls due in it comes at its time."""
        for start in range(0, len(sound), _BLOCK):
            block = sound[start : start + _BLOCK]
            self._pass(len(block) / SPEECH_RATE)
            audible = block
            if self._gate is not None:
                audible = self._gate.hear(block, self._clock.monotonic(), self._busy())
            if audible is block:
                for key in self._care.block(block):
                    self._act(Noticed(key))
            for spoken in self._ear.feed(audible):
                self._hear(spoken)

    def flush(self) -> None:
        """The recording is over."""
        for spoken in self._ear.flush():
            self._hear(spoken)

    def _pass(self, seconds: float) -> None:
        until = self._clock.monotonic() + seconds
        while (due := self._station.next_due) is not None and due <= until:
            self._clock.move(max(0.0, due - self._clock.monotonic()))
            self._listener(self._station.due(), None)
        self._clock.move(max(0.0, until - self._clock.monotonic()))
        for message in self._devices(until):
            self._act(message)

    def _act(self, message: Pressed | Noticed | Weighed) -> None:
        turn = act(self._station, message)
        if turn is not None:
            self._listener(turn, message)

    def _hear(self, spoken: Spoken) -> None:
        clipped = _cut_by_us(self._gate, spoken.utterance)
        found, sound = spoken.recognition.result(), spoken.utterance.sound.pcm
        self._care.spoken(sound, understood=found.accepted)
        heard = Heard(found, clipped, snr_db=own_snr_db(sound))
        turn = hear(self._station, heard, self._min_margin)
        if turn is not None:
            self._listener(turn, heard)


class LiveHearing:
    """A worker that takes the microphone's blocks and finds speech; recognising goes on beside it.

    `open_microphone` makes a fresh microphone, also after one was lost; `busy` is read from another thread and
    must be safe for that.
    """

    def __init__(
        self,
        open_microphone: Callable[[], Microphone],
        ear: PatientEar,
        gate: Gate,
        inbox: "Queue[Message]",
        *,
        now: Callable[[], float],
        busy: Callable[[], bool],
        care: HealthReports | None = None,
    ) -> None:
        self._care = care or HealthReports()
        self._open = open_microphone
        self._ear = ear
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
                for key in self._care.block(block):
                    self._inbox.put(Noticed(key))
            for spoken in self._ear.feed(audible):
                self._post_when_recognised(spoken, now)

    def _post_when_recognised(self, spoken: Spoken, now: float) -> None:
        clipped = _cut_by_us(self._gate, spoken.utterance)
        spoken_at = now - (self._ear.endpointer.heard_s - spoken.utterance.end)

        def post(done: "Future[Recognition]") -> None:
            error = done.exception()
            if error is None:
                sound = spoken.utterance.sound.pcm
                self._care.spoken(sound, understood=done.result().accepted)
                ratio = own_snr_db(sound)
                self._inbox.put(Heard(done.result(), clipped, spoken_at, ratio))
            else:
                self._inbox.put(Died("recogniser", f"{type(error).__name__}: {error}"))

        spoken.recognition.add_done_callback(post)

    def _lost(self, error: SoundError, tries: int) -> None:
        if tries == 0:
            self._inbox.put(Lost("microphone", str(error)))


def _cut_by_us(gate: Gate | None, utterance: Utterance) -> bool:
    """Whether our own voice cut into what was said."""
    return gate is not None and gate.clipped(utterance.start, utterance.end)


def in_blocks(blocks: Iterable[Pcm], recording: RecordedHearing) -> None:
    """Feed a recording's blocks to their end."""
    for block in blocks:
        recording.feed(block)
    recording.flush()

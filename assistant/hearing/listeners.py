"""From blocks of sound to messages: live, in threads of their own, or from a recording, step by step."""

import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from contextlib import closing
from queue import Queue

from assistant.batch.record.commands import Command
from assistant.clock import ScriptedClock
from assistant.errors import ApartError, one_line
from assistant.hearing.early_decision import PatientListener, Spoken
from assistant.hearing.gate import Gate
from assistant.hearing.health import HealthReports
from assistant.hearing.level import own_snr_db
from assistant.ports import SPEECH_RATE, Microphone, Pcm, Recognition, Utterance
from assistant.station.alive.vital_parts import Parts
from assistant.station.loop import Loop
from assistant.station.messages import Heard, Message, Noticed

BACK_OFF_S = (1.0, 2.0, 5.0, 10.0)
"""Seconds between tries to get a lost microphone back; the last one repeats."""
STEADY_S = 0.5
"""A microphone that gave this much sound (s) is back."""
WELL_S = 30.0
"""One that gave this much (s) is well: the back-off begins anew."""
BLOCK_S = 10.0
"""The next block, or the loss of the microphone, comes within this time (s), or the ear hangs."""
OPEN_S = 60.0
"""A microphone opens, or is refused, within this time (s)."""

_BLOCK = 512


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
    thread. `addressed`: whether the cook asked to be heard; called from the recogniser's. Whatever fails, the
    microphone or what is made of its sound, is told once to `parts` and tried again.
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
        parts: Parts | None = None,
    ) -> None:
        self._addressed = addressed
        self._health = health or HealthReports()
        self._open = open_microphone
        self._listener = listener
        self._gate = gate
        self._inbox = inbox
        self._now = now
        self._busy = busy
        self._parts = parts or Parts(inbox, now)
        self._microphone: Microphone | None = None

    def capture(self, stop: threading.Event) -> None:
        """Take blocks until stopped; a microphone that is lost is tried again, the back-off growing."""
        failures = 0
        while not stop.is_set():
            self._parts.due("microphone", OPEN_S)
            heard_s: float | None = None
            try:
                microphone = self._open()
                heard_s = 0.0
                self._microphone = microphone
                with closing(microphone):
                    for heard_s in self._take(microphone, stop):
                        if heard_s >= STEADY_S:
                            self._parts.found("microphone")
                        if heard_s >= WELL_S:
                            failures = 0
            except Exception as error:  # a driver, a library: the ear comes back from whatever it is
                self._parts.lost("microphone", one_line(error))
                wait_s = 0.0 if failures == 0 and heard_s is not None else _back_off_s(failures)
                failures += 1
                if wait_s:
                    self._parts.due("microphone", wait_s + OPEN_S)
                    stop.wait(wait_s)
        self._parts.rests("microphone")

    def close(self) -> None:
        """Close the microphone that is open, so that `capture`, which was asked to stop, does not wait."""
        if (microphone := self._microphone) is not None:
            microphone.close()

    def _take(self, microphone: Microphone, stop: threading.Event) -> Iterator[float]:
        """Hear block by block; yields the seconds heard so far."""
        samples = 0
        for block in microphone.blocks():
            if stop.is_set():
                return
            self._parts.due("microphone", BLOCK_S)
            now = self._now()
            audible = self._gate.hear(block, now, self._busy())
            if audible is block:
                for key in self._health.block(block):
                    self._inbox.put(Noticed(key))
            for spoken in self._listener.feed(audible):
                self._post_when_recognised(spoken)
            samples += len(block)
            yield samples / microphone.rate

    def _post_when_recognised(self, spoken: Spoken) -> None:
        clipped = _cut_by_us(self._gate, spoken.utterance)

        def post(done: "Future[Recognition[Command]]") -> None:
            if done.cancelled():
                self._parts.lost("recogniser", "it does not keep up with what is said")
                return
            error = done.exception()
            if error is None:
                self._parts.found("recogniser")
                sound = spoken.utterance.sound.pcm
                self._health.spoken(sound, understood=done.result().accepted)
                ratio = own_snr_db(sound)
                self._inbox.put(Heard(done.result(), clipped, ratio, self._addressed()))
            elif not isinstance(error, ApartError):  # of a process that was ended it was told, and begun anew
                self._parts.lost("recogniser", one_line(error))

        spoken.recognition.add_done_callback(post)


def _back_off_s(failures: int) -> float:
    return BACK_OFF_S[min(failures, len(BACK_OFF_S) - 1)]


def _cut_by_us(gate: Gate | None, utterance: Utterance) -> bool:
    """Whether our own voice cut into what was said."""
    return gate is not None and gate.clipped(utterance.start, utterance.end)


def in_blocks(blocks: Iterable[Pcm], hearing: RecordedHearing) -> None:
    """Feed a recording's blocks to their end."""
    for block in blocks:
        hearing.feed(block)
    hearing.flush()

"""From blocks of sound to messages: live, in threads of their own, or from a recording, step by step."""

import threading
from collections.abc import Callable, Iterable
from queue import Empty, Queue

from assistant.audio.gate import Gate
from assistant.clock import ScriptedClock
from assistant.errors import SoundError
from assistant.loop import Found, Heard, Listener, Lost, Message, Station, hear
from assistant.ports import SPEECH_RATE, Endpointer, Microphone, Pcm, Recogniser, Utterance

BACK_OFF_S = (1.0, 2.0, 5.0, 10.0)
"""Seconds between tries to get a lost microphone back; the last one repeats."""

_BLOCK = 512


def recognise(recogniser: Recogniser, utterance: Utterance, *, asking: bool, clipped: bool) -> Heard:
    """What the recogniser makes of an utterance; `clipped` where our own voice cut into it."""
    found = recogniser.recognise(utterance.sound, asking=asking)
    return Heard(found, clipped)


class Recording:
    """Hears a recording as if it were the microphone; the scripted clock follows the recording."""

    def __init__(
        self,
        station: Station,
        clock: ScriptedClock,
        endpointer: Endpointer,
        recogniser: Recogniser,
        listener: Listener,
        *,
        min_margin: float,
    ) -> None:
        self._station = station
        self._clock = clock
        self._endpointer = endpointer
        self._recogniser = recogniser
        self._listener = listener
        self._min_margin = min_margin
        self._gate: Gate | None = None
        self._busy: Callable[[], bool] = lambda: False

    def through(self, gate: Gate, busy: Callable[[], bool]) -> "Recording":
        """Put the half-duplex gate of a speaker before the ears; gives itself."""
        self._gate, self._busy = gate, busy
        return self

    def feed(self, sound: Pcm) -> None:
        """Hear the next stretch (int16, `SPEECH_RATE`); what falls due in it comes at its time."""
        for start in range(0, len(sound), _BLOCK):
            block = sound[start : start + _BLOCK]
            self._pass(len(block) / SPEECH_RATE)
            if self._gate is not None:
                block = self._gate.hear(block, self._clock.monotonic(), self._busy())
            for utterance in self._endpointer.feed(block):
                self._hear(utterance)

    def flush(self) -> None:
        """The recording is over."""
        for utterance in self._endpointer.flush():
            self._hear(utterance)

    def _pass(self, seconds: float) -> None:
        until = self._clock.monotonic() + seconds
        while (due := self._station.next_due) is not None and due <= until:
            self._clock.move(max(0.0, due - self._clock.monotonic()))
            self._listener(self._station.due(), None)
        self._clock.move(max(0.0, until - self._clock.monotonic()))

    def _hear(self, utterance: Utterance) -> None:
        clipped = self._gate is not None and self._gate.clipped(utterance.start, utterance.end)
        heard = recognise(self._recogniser, utterance, asking=self._station.asking, clipped=clipped)
        turn = hear(self._station, heard, self._min_margin)
        if turn is not None:
            self._listener(turn, heard)


class LiveEars:
    """Two workers: one takes the microphone's blocks and finds speech, the other recognises it.

    `open_microphone` makes a fresh microphone, also after one was lost; `busy` and `asking` are read from other
    threads and must be safe for that.
    """

    def __init__(
        self,
        open_microphone: Callable[[], Microphone],
        endpointer: Endpointer,
        recogniser: Recogniser,
        gate: Gate,
        inbox: "Queue[Message]",
        *,
        now: Callable[[], float],
        busy: Callable[[], bool],
        asking: Callable[[], bool],
    ) -> None:
        self._open = open_microphone
        self._endpointer = endpointer
        self._recogniser = recogniser
        self._gate = gate
        self._inbox = inbox
        self._now = now
        self._busy = busy
        self._asking = asking
        self._found: Queue[tuple[Utterance, bool, float]] = Queue()

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

    def recognise(self, stop: threading.Event) -> None:
        """Recognise what capture found, until stopped."""
        while not stop.is_set():
            try:
                utterance, clipped, spoken_at = self._found.get(timeout=0.2)
            except Empty:
                continue
            heard = recognise(self._recogniser, utterance, asking=self._asking(), clipped=clipped)
            self._inbox.put(Heard(heard.recognition, heard.clipped, spoken_at))

    def _take(self, microphone: Microphone, stop: threading.Event) -> None:
        for block in microphone.blocks():
            if stop.is_set():
                return
            now = self._now()
            audible = self._gate.hear(block, now, self._busy())
            for utterance in self._endpointer.feed(audible):
                clipped = self._gate.clipped(utterance.start, utterance.end)
                spoken_at = now - (self._endpointer.heard_s - utterance.end)
                self._found.put((utterance, clipped, spoken_at))

    def _lost(self, error: SoundError, tries: int) -> None:
        if tries == 0:
            self._inbox.put(Lost("microphone", str(error)))


def in_blocks(blocks: Iterable[Pcm], recording: Recording) -> None:
    """Feed a recording's blocks to their end."""
    for block in blocks:
        recording.feed(block)
    recording.flush()

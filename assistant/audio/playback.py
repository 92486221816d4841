"""The speaker: playing on the sound card.

Its stream plays silence between sounds, so that a reply starts at once; in a long quiet it rests, because a
running stream costs 1 to 1.5 % of a core (measured) and starting it 1 to 55 ms. Its callback only copies.
"""

from collections.abc import Callable
from threading import Event, Lock
from typing import Any

from assistant.audio.loudness import FADE_S, amplify, checked_volume
from assistant.audio.resample import resample
from assistant.audio.sample_queue import SampleQueue
from assistant.audio.sound_cards import find, portaudio
from assistant.errors import SoundError
from assistant.ports import Sound

_STALLED_S = 1.0
"""Without a call from the card for this long its device is gone."""


class SoundSpeaker:
    """ports.Speaker on the sound card.

    `device`: a part of its name, "" for the default. `volume`: see there. `latency`: seconds that the device
    may hold, or "low" or "high" as it likes. `longest_s`: how much sound may wait. `rest_s`: quiet after
    which the stream rests. `on_finished` is called from the audio thread when it has fallen silent or is
    lost; it must only post. `library`: the sounddevice module or a fake of it. SoundError when there
    is no such device or it can't be opened.
    """

    def __init__(
        self,
        *,
        device: str = "",
        volume: float = 1.0,
        latency: float | str = 0.05,
        block_s: float = 0.02,
        longest_s: float = 60.0,
        rest_s: float = 10.0,
        on_finished: Callable[[], None] | None = None,
        library: Any = None,
    ) -> None:
        library = library or portaudio()
        found = find(device, "output", library)
        self.name = found.name
        self.rate = found.rate
        self.dropped = 0
        self.underflows = 0
        self.volume = volume
        self._on_finished = on_finished
        self._queue = SampleQueue(round(longest_s * found.rate))
        self._state = Lock()
        self._open = Lock()
        self._silent = Event()
        self._silent.set()
        self._ends = 0.0
        self._called = 0.0
        self._rest_s = rest_s
        self._rest = library.CallbackStop
        self._fault = library.PortAudioError
        self._resting = False
        self._lost = False
        self._closed = False
        try:
            self._stream = library.OutputStream(
                device=found.index,
                samplerate=found.rate,
                channels=min(2, found.outputs),
                dtype="int16",
                latency=latency,
                blocksize=round(block_s * found.rate),
                callback=self._fill,
                finished_callback=self._ended,
            )
            self._called = self._ends = self._stream.time
            self._stream.start()
        except library.PortAudioError as cause:
            raise SoundError(
                f"the speaker '{found.name}' can't be opened: {cause}; is something else using it?"
            ) from cause

    @property
    def volume(self) -> float:
        """0.0 to 4.0; 1.0 plays sound as it is. Holds for what is played from now on."""
        return self._volume

    @volume.setter
    def volume(self, volume: float) -> None:
        self._volume = checked_volume(volume)

    def play(self, sound: Sound) -> None:
        """Start playing after what is queued; returns at once. SoundError when the device is lost.

        What would make more than `longest_s` wait is dropped and counted in `dropped`.
        """
        pcm = amplify(resample(sound, self.rate).pcm, self._volume)
        if not len(pcm):
            return
        with self._state:
            if self._queue.put(pcm):
                self._silent.clear()
            else:
                self.dropped += 1
        self._wake()
        if self.lost or self._closed:
            self._silent.set()
            raise SoundError(f"the speaker '{self.name}' is gone; plug it in again, the timers go on")

    def _wake(self) -> None:
        """Start the stream if it rests."""
        with self._open:
            if not self._resting or self._closed:
                return
            self._stream.stop()
            self._called = self._ends = self._stream.time
            self._resting = False
            try:
                self._stream.start()
            except self._fault:
                self._lost = True
                self._silent.set()

    def stop(self) -> None:
        """Forget what is queued; silent after 5 ms, one block and what the device already holds."""
        self._queue.cut(round(FADE_S * self.rate))

    @property
    def latency_s(self) -> float:
        """What the device holds ready, as it says itself (s)."""
        return float(self._stream.latency)

    @property
    def busy(self) -> bool:
        """Whether sound is still coming out, the device's own delay included."""
        return not self._silent.is_set() and not self.lost

    @property
    def lost(self) -> bool:
        """Whether the device went away or has asked for nothing in a second; close this and build another."""
        with self._open:
            runs = not (self._lost or self._closed or self._resting)
            if runs and self._stream.time - self._called > _STALLED_S:
                self._lost = True
                self._silent.set()
            return self._lost

    def wait_finished(self, timeout_s: float) -> bool:
        """Wait until not busy; False when the time ran out first."""
        return self._silent.wait(timeout_s)

    def close(self) -> None:
        """Let the device go, in the middle of a sound too."""
        with self._open:
            self._closed = True
            self._silent.set()
            self._stream.abort()
            self._stream.close()

    def _fill(self, out: Any, _frames: int, time: Any, status: Any) -> None:
        sound = self._queue.take(out[:, 0])
        if out.shape[1] > 1:
            out[:, 1] = out[:, 0]
        self._called = time.currentTime
        self.underflows += bool(status.output_underflow)
        if sound:
            heard = max(time.outputBufferDacTime, time.currentTime)
            self._ends = heard + sound / self.rate
        elif time.currentTime >= self._ends:
            self._quiet(time.currentTime - self._ends)

    def _quiet(self, seconds: float) -> None:
        with self._state:
            if not self._queue.empty:
                return
            reported = self._silent.is_set()
            self._silent.set()
            self._resting = seconds >= self._rest_s
        if not reported:
            self._report()
        if self._resting:
            raise self._rest

    def _ended(self) -> None:
        if self._resting:
            return
        self._lost = not self._closed
        self._silent.set()
        if self._lost:
            self._report()

    def _report(self) -> None:
        if self._on_finished is not None:
            self._on_finished()

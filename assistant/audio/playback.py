"""Speakers: the sound card, a recording of the whole conversation, and none.

The card's stream plays silence between sounds, so that a reply starts at once; in a long quiet it rests, because a
running one costs 1 to 1.5 % of a core (measured) and starting it 1 to 55 ms. Its callback only copies.
"""

from collections import deque
from collections.abc import Callable
from threading import Event, Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.audio.resample import resample
from assistant.audio.sound_cards import find, portaudio
from assistant.errors import SoundError
from assistant.ports import Pcm, Sound

Wave = NDArray[np.float32]

LOUDEST = 4.0
_KNEE = 0.7
_FADE_S = 0.005
_STALLED_S = 1.0


def amplify(pcm: Pcm, volume: float) -> Pcm:
    """Louder or softer (times `volume`) without clipping; softer or 1.0 is exact."""
    wave = pcm.astype(np.float32) * np.float32(volume / 32768)
    return as_pcm(limit(wave) if volume > 1 else wave)


def limit(wave: Wave) -> Wave:
    """Linear up to 0.7 of full scale (1.0), above it a knee that never reaches the end."""
    size = np.abs(wave)
    over = np.maximum(size - _KNEE, 0) / (1 - _KNEE)
    bent = _KNEE + (1 - _KNEE) * over / (1 + over)
    return np.where(size > _KNEE, np.copysign(bent, wave), wave)


def as_pcm(wave: Wave) -> Pcm:
    """Samples within -1.0 to 1.0 as int16."""
    return np.clip(np.round(wave * 32768), -32768, 32767).astype(np.int16)


class SampleQueue:
    """Samples that wait to be played, `limit` at most; one thread puts, the audio thread takes."""

    def __init__(self, limit: int) -> None:
        self._limit = limit
        self._chunks: deque[Pcm] = deque()
        self._at = 0
        self._lock = Lock()

    def put(self, pcm: Pcm) -> bool:
        """Queue all of it, or nothing and give False when that would be more than the limit."""
        with self._lock:
            if self._waiting() + len(pcm) > self._limit:
                return False
            if len(pcm):
                self._chunks.append(pcm)
            return True

    def take(self, out: Pcm) -> int:
        """Fill `out` from its start with what waits, the rest with silence; give how many samples were sound."""
        filled = 0
        with self._lock:
            while self._chunks and filled < len(out):
                chunk = self._chunks[0]
                part = chunk[self._at : self._at + len(out) - filled]
                out[filled : filled + len(part)] = part
                filled += len(part)
                self._at += len(part)
                if self._at == len(chunk):
                    self._chunks.popleft()
                    self._at = 0
        out[filled:] = 0
        return filled

    def cut(self, fade: int) -> None:
        """Forget everything but the next `fade` samples, which fall to silence: a hard cut would click."""
        with self._lock:
            if not self._chunks:
                return
            last = self._chunks[0][self._at : self._at + fade]
            slope = np.linspace(1, 0, len(last), dtype=np.float32)
            self._chunks = deque([(last * slope).astype(np.int16)])
            self._at = 0

    @property
    def empty(self) -> bool:
        """Whether nothing waits."""
        return not self._chunks

    def _waiting(self) -> int:
        return sum(map(len, self._chunks)) - self._at


class SoundSpeaker:
    """ports.Speaker on the sound card.

    `device`: a part of its name, "" for the default. `volume`: see there. `latency`: seconds that the device may
    hold, or "low" or "high" as it likes. `longest_s`: how much sound may wait. `rest_s`: quiet after which the
    stream rests. `on_finished` is called from the audio thread when it has fallen
    silent or is lost; it must only post. `library`: the sounddevice module or what stands in for it.
    SoundError when there is no such device or it can't be opened.
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
        if not 0 <= volume <= LOUDEST:
            raise SoundError(
                f"volume {volume:g} is not between 0 and {LOUDEST:g}; 1 plays the voice as it is"
            )
        self._volume = volume

    @property
    def latency_s(self) -> float:
        """Seconds from the program to the air, as the device says."""
        return float(self._stream.latency)

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
        self.wake()
        if self.lost or self._closed:
            self._silent.set()
            raise SoundError(f"the speaker '{self.name}' is gone; plug it in again, the timers go on")

    def wake(self) -> None:
        """Start the stream if it rests: a reply is to be expected, somebody has begun to speak. From any thread."""
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
        self._queue.cut(round(_FADE_S * self.rate))

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
            told = self._silent.is_set()
            self._silent.set()
            self._resting = seconds >= self._rest_s
        if not told:
            self._tell()
        if self._resting:
            raise self._rest

    def _ended(self) -> None:
        if self._resting:
            return
        self._lost = not self._closed
        self._silent.set()
        if self._lost:
            self._tell()

    def _tell(self) -> None:
        if self._on_finished is not None:
            self._on_finished()


class NullSpeaker:
    """ports.Speaker that says nothing and is never busy."""

    busy = False
    volume = 1.0

    def play(self, sound: Sound) -> None:
        """Nothing."""

    def stop(self) -> None:
        """Nothing."""

    def wake(self) -> None:
        """Nothing."""

    def close(self) -> None:
        """Nothing."""

"""Fakes of voice, speaker, microphone and sound card, and the contracts that they and the real ones pass.

Nothing here waits: time goes by when a test says so.
"""

import zlib
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np

from assistant.audio.recorder import FileSpeaker
from assistant.errors import SoundError, VoiceError
from assistant.ports import SPEECH_RATE, Microphone, Pcm, Sound, Speaker, Voice


class FakeVoice:
    """ports.Voice that hums: the length depends on the number of letters and the rate, the pitch on the text.

    `said` holds every text that it made; `broken` makes it fail from now on.
    """

    def __init__(self, *, voice: str = "fake", rate: int = 160) -> None:
        self.voice = voice
        self.rate = rate
        self.said: list[str] = []
        self.broken = False
        self.closed = False

    def speak(self, text: str) -> Sound:
        """A hum of 60 ms a letter at 160 words a minute, 22,050 Hz."""
        if self.closed:
            raise VoiceError("the voice is closed; make another")
        if self.broken:
            raise VoiceError(f"the voice gave no sound for '{text}'; try it again")
        if not text.strip():
            raise VoiceError("there is nothing to say in an empty text; give it words")
        self.said.append(text)
        samples = round(22_050 * 0.06 * len(text) * 160 / self.rate)
        pitch = 200 + zlib.crc32(text.encode()) % 400
        hum = np.cos(2 * np.pi * pitch * np.arange(samples) / 22_050)
        return Sound((hum * 12_000).astype(np.int16), 22_050)

    def close(self) -> None:
        """Speak no more."""
        self.closed = True


class FakeSpeaker(FileSpeaker):
    """ports.Speaker on a fake clock: `played` holds each sound with the time at which it was given."""

    def __init__(self, now: Callable[[], float], *, latency_s: float = 0.0) -> None:
        super().__init__(now, latency_s=latency_s)
        self._clock = now
        self.played: list[tuple[float, Sound]] = []
        self.stops = 0
        self.closed = False

    def play(self, sound: Sound) -> None:
        """Note it, and be busy for its length."""
        self.played.append((self._clock(), sound))
        super().play(sound)

    def stop(self) -> None:
        """Count it."""
        self.stops += 1
        super().stop()

    def close(self) -> None:
        """Note it."""
        self.closed = True


class FakeMicrophone:
    """ports.Microphone that gives the samples of an array in blocks, then ends, or is lost with the error `lost`."""

    def __init__(
        self, pcm: Pcm, *, rate: int = SPEECH_RATE, block: int = 512, lost: SoundError | None = None
    ) -> None:
        self._pcm = pcm
        self._rate = rate
        self._block = block
        self._lost = lost
        self.closed = False

    @property
    def rate(self) -> int:
        """Hz of the blocks."""
        return self._rate

    def blocks(self) -> Iterator[Pcm]:
        """Blocks until the array ends or it is closed."""
        for start in range(0, len(self._pcm), self._block):
            if self.closed:
                return
            yield self._pcm[start : start + self._block]
        if self._lost is not None and not self.closed:
            raise self._lost

    def close(self) -> None:
        """End `blocks`."""
        self.closed = True


class FakeSoundCard:
    """Stands in for the sounddevice module: devices, streams and their callbacks; its time goes by in `run`.

    Each device is (name, inputs, outputs, rate). What the outputs played is in `heard`; what the inputs will hear
    comes from `hear`. `latency_s` each way.
    """

    class PortAudioError(Exception):
        """As sounddevice's."""

    class CallbackStop(Exception):  # noqa: N818
        """As sounddevice's: what was given is played, then the stream ends."""

    def __init__(
        self,
        devices: Sequence[tuple[str, int, int, int]] = (("desk", 2, 2, 48_000),),
        *,
        latency_s: float = 0.05,
        defaults: tuple[int, int] = (0, 0),
    ) -> None:
        self._devices = list(devices)
        self.default = SimpleNamespace(device=defaults)
        self.latency_s = latency_s
        self.time = 0.0
        self.refuses = ""
        self.scans = 0
        self._started = True
        self.streams: list[FakeStream] = []

    def query_devices(self) -> list[dict[str, Any]]:
        """As sounddevice's."""
        return [
            {
                "name": name,
                "max_input_channels": inputs,
                "max_output_channels": outputs,
                "default_samplerate": float(rate),
            }
            for name, inputs, outputs, rate in self._devices
        ]

    def OutputStream(self, **options: Any) -> "FakeStream":  # noqa: N802 - sounddevice's name
        """As sounddevice's."""
        return self._open(FakeStream(self, speaks=True, **options))

    def RawInputStream(self, **options: Any) -> "FakeStream":  # noqa: N802 - sounddevice's name
        """As sounddevice's."""
        return self._open(FakeStream(self, speaks=False, **options))

    def run(self, seconds: float) -> None:
        """Let time go by: streams that run call for sound, block by block."""
        until = self.time + seconds
        running = [stream for stream in self.streams if stream.running]
        while running and (first := min(running, key=lambda stream: stream.due)).due <= until:
            self.time = first.due
            first.call()
            running = [stream for stream in self.streams if stream.running]
        self.time = until

    def hear(self, pcm: Pcm) -> None:
        """What the microphones will hear from now on, at their own rate; zeros after it."""
        for stream in self.streams:
            stream.to_hear = np.concatenate([stream.to_hear, pcm])

    def unplug(self) -> None:
        """Every stream ends by itself."""
        for stream in self.streams:
            stream.end()

    def stall(self) -> None:
        """No stream calls any more, and none says that it ended."""
        for stream in self.streams:
            stream.running = False

    def _terminate(self) -> None:
        assert all(stream.closed for stream in self.streams), "a stream is open while the library ends"
        self._started = False

    def _initialize(self) -> None:
        assert not self._started
        self._started = True
        self.scans += 1

    def _open(self, stream: "FakeStream") -> "FakeStream":
        if self.refuses:
            raise self.PortAudioError(self.refuses)
        self.streams.append(stream)
        return stream


class FakeStream:
    """A stream of a `FakeSoundCard`."""

    def __init__(self, card: FakeSoundCard, *, speaks: bool, **options: Any) -> None:
        self._card = card
        self._speaks = speaks
        self._options = options
        self._frames: int = options["blocksize"]
        self._period = options["blocksize"] / options["samplerate"]
        self.latency = card.latency_s
        self.due = 0.0
        self.running = False
        self.closed = False
        self.overflow = False
        self.to_hear: Pcm = np.zeros(0, np.int16)
        self.blocks: list[Pcm] = []

    @property
    def time(self) -> float:
        """The card's; not to be asked of a closed stream."""
        assert not self.closed
        return self._card.time

    @property
    def heard(self) -> Pcm:
        """What came out of it so far, channel by channel: shape (samples, channels)."""
        return np.concatenate(self.blocks)

    def start(self) -> None:
        """As sounddevice's."""
        if self._card.refuses:
            raise FakeSoundCard.PortAudioError(self._card.refuses)
        self.running = True
        self.due = self._card.time + self._period

    def call(self) -> None:
        """One block."""
        status = SimpleNamespace(input_overflow=self.overflow, output_underflow=self.overflow)
        self.overflow = False
        moment = SimpleNamespace(
            currentTime=self._card.time,
            outputBufferDacTime=self._card.time + self.latency,
            inputBufferAdcTime=self._card.time - self._period - self.latency,
        )
        self.due += self._period
        if self._speaks:
            block = np.full((self._frames, self._options["channels"]), 99, np.int16)
            try:
                self._options["callback"](block, self._frames, moment, status)
            except FakeSoundCard.CallbackStop:
                self.end()
            self.blocks.append(block)
            return
        now, self.to_hear = self.to_hear[: self._frames], self.to_hear[self._frames :]
        block = np.concatenate([now, np.zeros(self._frames - len(now), np.int16)])
        self._options["callback"](block.tobytes(), self._frames, moment, status)

    def end(self) -> None:
        """As sounddevice's when it ends, by itself or by abort."""
        if self.running:
            self.running = False
            self._options["finished_callback"]()

    stop = abort = end

    def close(self) -> None:
        """As sounddevice's."""
        self.end()
        self.closed = True


def hum(seconds: float, rate: int = SPEECH_RATE, hertz: float = 440.0, level: float = 0.5) -> Sound:
    """A sine; `level` 1.0 is full scale."""
    time = np.arange(round(seconds * rate)) / rate
    return Sound((np.sin(2 * np.pi * hertz * time) * level * 32_767).astype(np.int16), rate)


def check_voice(voice: Voice) -> None:
    """Contract of ports.Voice: sound that starts at once, longer for more words, one clear line otherwise."""
    short, again, long = (
        voice.speak(text) for text in ("Taken.", "Taken.", "One fifty in. Three fifteen left.")
    )
    for sound in (short, again, long):
        assert sound.pcm.dtype == np.int16
        assert sound.pcm.ndim == 1
        assert np.abs(sound.pcm[: round(0.03 * sound.rate)].astype(int)).max() > 100, "it starts with silence"
        assert np.abs(sound.pcm[-round(0.05 * sound.rate) :].astype(int)).max() > 100, "it ends with silence"
    assert abs(short.seconds - again.seconds) < 0.1 * short.seconds
    assert long.seconds > 1.5 * short.seconds
    _refuses(voice, "  ")
    voice.close()
    voice.close()
    _refuses(voice, "Taken.")


def _refuses(voice: Voice, text: str) -> None:
    line = ""
    try:
        voice.speak(text)
    except VoiceError as refusal:
        line = str(refusal)
    assert line, f"{text!r} was spoken"
    assert "\n" not in line


def check_speaker(speaker: Speaker, let_pass: Callable[[float], object], *, slack_s: float = 0.1) -> None:
    """Contract of ports.Speaker. `let_pass` lets seconds go by; `slack_s`: latency and block of the device."""
    assert not speaker.busy
    speaker.stop()
    speaker.play(Sound(np.zeros(0, np.int16)))
    assert not speaker.busy, "nothing to play makes it busy"
    speaker.play(hum(0.2))
    assert speaker.busy, "it isn't busy at once"
    speaker.play(hum(0.2, rate=22_050))
    let_pass(0.25)
    assert speaker.busy, "the second sound doesn't follow the first"
    let_pass(0.15 + slack_s)
    assert not speaker.busy, "it stays busy"
    speaker.play(hum(30))
    speaker.play(hum(30))
    let_pass(0.1)
    speaker.stop()
    let_pass(slack_s)
    assert not speaker.busy, "it doesn't stop"
    speaker.play(hum(0.1))
    assert speaker.busy, "it doesn't play after a stop"
    let_pass(0.1 + slack_s)
    assert not speaker.busy
    speaker.close()
    speaker.close()


def check_microphone(microphone: Microphone, *, blocks: int = 3) -> None:
    """Contract of ports.Microphone; it must have that many blocks to give, and more."""
    assert microphone.rate > 0
    stream = microphone.blocks()
    got = [next(stream) for _ in range(blocks)]
    for block in got:
        assert block.dtype == np.int16
        assert block.ndim == 1
        assert len(block)
    assert all(first is not second for first, second in pairwise(got))
    microphone.close()
    microphone.close()
    assert next(stream, None) is None, "it gives blocks after close"

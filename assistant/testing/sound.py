"""Fakes of `ports.Voice`, `ports.Speaker` and `ports.Microphone`, and the contract check of each port.

Nothing here waits: time passes when a test says so.
"""

import zlib
from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np

from assistant.audio.recorder import FileSpeaker
from assistant.errors import SoundError, VoiceError
from assistant.ports import SPEECH_RATE, Microphone, Pcm, Sound, Speaker, Voice


class FakeVoice:
    """ports.Voice that hums: the length depends on the letters and the rate, the pitch on the text."""

    def __init__(self, *, voice: str = "fake", rate: int = 160) -> None:
        self.voice = voice
        self.rate = rate
        self.said: list[str] = []
        """Every text that it made."""
        self.broken = False
        """Whether it fails from now on."""
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
    """ports.Speaker on a fake clock: `played` has each sound with the time at which it was played."""

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
    """ports.Microphone that yields an array's samples in blocks, then ends or fails with the error `lost`."""

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
    """Contract of ports.Speaker.

    `let_pass` lets seconds go by; `slack_s`: latency and block of the device.
    """
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
    assert next(stream, None) is None, "it yields blocks after close"

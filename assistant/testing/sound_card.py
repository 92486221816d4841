"""A fake of the sounddevice library, for the real adapters of `ports.Speaker` and `ports.Microphone`.

Nothing here waits: time passes when a test says so.
"""

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np

from assistant.ports import Pcm


class FakeSoundCard:
    """In place of the sounddevice module: devices, streams and their callbacks; its time passes in `run`.

    Each device is (name, inputs, outputs, rate). What the outputs played is in their streams' `heard`; what
    the inputs will hear comes from `hear`. `latency_s` each way.
    """

    class PortAudioError(Exception):
        """As sounddevice's."""

    class CallbackStop(Exception):  # noqa: N818
        """As sounddevice's: what was passed on is played, then the stream ends."""

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
        """Let time pass: running streams call for sound, block by block."""
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
        """No stream calls any more, and none reports that it ended."""
        for stream in self.streams:
            stream.running = False

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
        """The card's time; a closed stream has none."""
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

"""Microphone: the sound card's blocks at 16 kHz, and a clear error when they stop coming.

The callback copies bytes into a bounded queue and counts what it drops; everything else is done by whoever
asks for blocks.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from queue import Empty, Full, Queue
from threading import Lock
from typing import Any

import numpy as np

from assistant.audio.resample import Resampler
from assistant.audio.sound_cards import card, find, portaudio, read_cards
from assistant.errors import SoundError
from assistant.ports import SPEECH_RATE, Pcm

NO_BLOCK_S = 1.0
"""Seconds without a block after which the device counts as lost."""

ZEROS_S = 5.0
"""Seconds of exact zeros after which it does too: a converter that works is never that quiet."""

_CARD_EVERY_S = 1.0
_WAITING_S = 10.0


class SoundMicrophone:
    """ports.Microphone on the sound card; blocks are at 16 kHz whatever the device's own rate.

    `device`: a part of its name, "" for the default. `block_s`: length of a block. `zeros_s`: see `ZEROS_S`;
    `float("inf")` for a device that sends zeros when it is quiet. `cards`: returns the text of
    /proc/asound/cards. `library`: the sounddevice module or a fake of it. SoundError when there is
    no such device or it can't be opened, and from `blocks` when it is lost: its stream ended, no block for
    `no_block_s`, zeros for `zeros_s`, or its card is gone. A lost one must be closed, and another built in
    another process: PortAudio's list of devices is frozen when it starts.
    """

    def __init__(
        self,
        *,
        device: str = "",
        block_s: float = 0.032,
        latency: float | str = 0.1,
        zeros_s: float = ZEROS_S,
        no_block_s: float = NO_BLOCK_S,
        cards: Callable[[], str] = read_cards,
        library: Any = None,
    ) -> None:
        library = library or portaudio()
        self._device = find(device, "input", library)
        self.name = self._device.name
        self.overflows = 0
        self._zeros_s = zeros_s
        self._no_block_s = no_block_s
        self._read_cards = cards
        self._card = card(self._device, cards())
        self._queue: Queue[bytes | None] = Queue(round(_WAITING_S / block_s))
        self._ended = False
        self._closed = False
        self._closing = Lock()
        try:
            self._stream = library.RawInputStream(
                device=self._device.index,
                samplerate=self._device.rate,
                channels=1,
                dtype="int16",
                latency=latency,
                blocksize=round(block_s * self._device.rate),
                callback=self._take,
                finished_callback=self._end,
            )
            self._stream.start()
        except library.PortAudioError as cause:
            raise SoundError(
                f"the microphone '{self.name}' can't be opened: {cause}; is something else using it?"
            ) from cause

    @property
    def rate(self) -> int:
        """Hz of the blocks: 16,000."""
        return SPEECH_RATE

    def blocks(self) -> Iterator[Pcm]:
        """Blocks as they come, until closed; raises SoundError when the device is lost."""
        resampler = Resampler(self._device.rate, SPEECH_RATE)
        zeros = 0.0
        unchecked = 0.0
        while (raw := self._next()) is not None:
            block: Pcm = np.frombuffer(raw, np.int16)
            seconds = len(block) / self._device.rate
            zeros = 0.0 if block.any() else zeros + seconds
            if zeros >= self._zeros_s:
                raise self._lost(f"sends nothing but zeros for {zeros:.0f} s; is it muted or unplugged?")
            unchecked += seconds
            if self._card is not None and unchecked >= _CARD_EVERY_S:
                unchecked = 0.0
                if card(self._device, self._read_cards()) != self._card:
                    raise self._lost("is gone; plug it in again")
            heard = resampler.feed(block)
            if len(heard):
                yield heard

    def close(self) -> None:
        """Stop; `blocks` ends. May be called from another thread, and twice."""
        with self._closing:
            if self._closed:
                return
            self._closed = True
            with suppress(Empty):
                while True:
                    self._queue.get_nowait()
            with suppress(Full):
                self._queue.put_nowait(None)
            self._stream.abort()
            self._stream.close()

    def _next(self) -> bytes | None:
        if self._closed:
            return None
        try:
            item = self._queue.get(timeout=self._no_block_s)
        except Empty:
            item = None
            if not self._ended and not self._closed:
                raise self._lost(f"sent nothing for {self._no_block_s:g} s; check its plug") from None
        if self._closed:
            return None
        if item is None:
            raise self._lost("stopped; check its plug")
        return item

    def _lost(self, how: str) -> SoundError:
        return SoundError(f"the microphone '{self.name}' {how}")

    def _take(self, data: Any, _frames: int, _time: Any, status: Any) -> None:
        self.overflows += bool(status.input_overflow)
        try:
            self._queue.put_nowait(bytes(data))
        except Full:
            self.overflows += 1

    def _end(self) -> None:
        self._ended = True
        with suppress(Full):
            self._queue.put_nowait(None)

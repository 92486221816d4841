"""The microphone's end in the station."""

from collections.abc import Callable, Iterator
from threading import Event
from typing import Any

import numpy as np

from assistant.apart import Apart
from assistant.errors import ApartError, SoundError
from assistant.ports import SPEECH_RATE, Pcm

OPEN_S = 30.0
"""A device opens within this time (s), the start of its process on a slow machine included."""
SILENT_S = 4.0
"""A process that sends no block and no loss for this long (s) hangs: it finds a silent device in 1 s."""


class MicrophoneApart:
    """ports.Microphone in a process of its own, which `start` starts as `sound_process` does.

    SoundError where it can't be opened, and from `blocks` when it is lost or its process hangs.
    """

    def __init__(
        self, start: Callable[[], Apart], *, open_s: float = OPEN_S, silent_s: float = SILENT_S
    ) -> None:
        self._closed = Event()
        self._silent_s = silent_s
        self.name = "microphone"
        try:
            self._apart = start()
        except OSError as cause:
            raise SoundError(f"no process can be started for the microphone: {cause}") from cause
        try:
            self.name = self._received(open_s)
        except BaseException:
            self.close()
            raise

    @property
    def rate(self) -> int:
        """Hz of the blocks: 16,000."""
        return SPEECH_RATE

    def blocks(self) -> Iterator[Pcm]:
        """Blocks as they come, until closed; raises SoundError when the device is lost."""
        while not self._closed.is_set():
            try:
                raw = self._received(self._silent_s)
            except SoundError:
                if self._closed.is_set():
                    return
                raise
            yield np.frombuffer(raw, np.int16)

    def close(self) -> None:
        """End the process, whatever the driver does; `blocks` ends. From another thread too, and twice."""
        if not self._closed.is_set():
            self._closed.set()
            self._apart.kill()

    def _received(self, within_s: float) -> Any:
        try:
            found = self._apart.receive(within_s)
        except ApartError as cause:
            raise SoundError(f"the microphone '{self.name}' hangs ({cause}); check its plug") from cause
        if isinstance(found, SoundError):
            raise found
        return found

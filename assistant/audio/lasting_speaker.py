"""A speaker that outlives the device: absent at the start, found later, pulled out, plugged in again."""

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Protocol

from assistant.errors import SoundError
from assistant.ports import Sound, Speaker

LOOK_S = 1.0
"""How often it is looked whether the device is still there (s)."""
BACK_OFF_S = (1.0, 2.0, 5.0, 10.0)
"""Seconds between tries to open one; the last one repeats."""
MISSING = "there is no speaker; plug it in, the timers go on"


class LosableSpeaker(Speaker, Protocol):
    """A speaker that may go away."""

    volume: float

    @property
    def lost(self) -> bool:
        """Whether it went away."""


class LastingSpeaker:
    """ports.Speaker. `run` is a worker that opens a device where there is none; the rest is for any thread.

    `open_speaker` opens one; SoundError where it can't. `on_lost` gets the cause in one line, `on_found` is
    called when a device is there; both from any thread, and also where nothing changed.
    """

    def __init__(
        self,
        open_speaker: Callable[[], LosableSpeaker],
        *,
        volume: float = 1.0,
        on_lost: Callable[[str], None] = lambda _: None,
        on_found: Callable[[], None] = lambda: None,
    ) -> None:
        self._open = open_speaker
        self._on_lost = on_lost
        self._on_found = on_found
        self._volume = volume
        self._speaker: LosableSpeaker | None = None
        self._closed = False
        self._lock = threading.Lock()

    def look(self) -> bool:
        """Open a device if there is none; whether there is one now."""
        speaker = self._speaker
        if speaker is not None:
            if not speaker.lost:
                return True
            self._speaker = None
            speaker.close()
            self._on_lost(f"{MISSING}")
        try:
            fresh = self._open()
            fresh.volume = self._volume
        except Exception as error:  # a driver, a library: it comes back from whatever it is
            self._on_lost(str(error))
            return False
        with self._lock:
            if not self._closed:
                self._speaker = fresh
        if self._closed:
            fresh.close()
            return False
        self._on_found()
        return True

    def run(self, stop: threading.Event) -> None:
        """Look until stopped; while there is none, less and less often."""
        tries = 0
        while not stop.is_set():
            there = self.look()
            stop.wait(LOOK_S if there else BACK_OFF_S[min(tries, len(BACK_OFF_S) - 1)])
            tries = 0 if there else tries + 1

    @property
    def volume(self) -> float:
        """As the device's; one that comes back has it too."""
        return self._volume

    @volume.setter
    def volume(self, volume: float) -> None:
        if (speaker := self._speaker) is not None:
            speaker.volume = volume
        self._volume = volume

    def play(self, sound: Sound) -> None:
        """As the device's; SoundError where there is none."""
        speaker = self._speaker
        if speaker is None:
            raise SoundError(MISSING)
        speaker.play(sound)

    def stop(self) -> None:
        """As the device's."""
        if (speaker := self._speaker) is not None:
            speaker.stop()

    @property
    def busy(self) -> bool:
        """As the device's; without one it isn't."""
        speaker = self._speaker
        return speaker is not None and speaker.busy

    def close(self) -> None:
        """Let it go for good."""
        with self._lock:
            self._closed = True
            speaker, self._speaker = self._speaker, None
        if speaker is not None:
            with suppress(SoundError):
                speaker.close()

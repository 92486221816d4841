"""The speaker's end in the station."""

from collections.abc import Callable
from threading import Condition, Thread

from assistant.apart import Apart
from assistant.audio.loudness import checked_volume
from assistant.errors import ApartError, SoundError
from assistant.ports import Sound

OPEN_S = 30.0
"""A device opens within this time (s), the start of its process on a slow machine included."""
SIGN_S = 5.0
"""A process without a sign of life for this long (s) hangs; it gives one a second."""


class SpeakerApart:
    """ports.Speaker in a process of its own, which `start` starts as `sound_process` does.

    `volume`: see there. SoundError where it can't be opened, and from `play` once it is lost or hangs.
    """

    def __init__(
        self,
        start: Callable[[], Apart],
        *,
        volume: float = 1.0,
        open_s: float = OPEN_S,
        sign_s: float = SIGN_S,
    ) -> None:
        self.volume = volume
        self._sign_s = sign_s
        self._sent = self._played = 0
        self._lost = ""
        self._changed = Condition()
        try:
            self._apart = start()
        except OSError as cause:
            raise SoundError(f"no process can be started for the speaker: {cause}") from cause
        try:
            opened = self._apart.receive(open_s)
        except ApartError as cause:
            self._apart.kill()
            raise SoundError(f"the speaker hangs as it is opened ({cause}); check its plug") from cause
        if isinstance(opened, SoundError):
            self._apart.kill()
            raise opened
        self.name, self.latency_s = opened
        """The device's own name, and what it holds ready (s)."""
        Thread(target=self._follow, name="speaker, its signs", daemon=True).start()

    @property
    def volume(self) -> float:
        """0.0 to 4.0; 1.0 plays sound as it is. Holds for what is played from now on."""
        return self._volume

    @volume.setter
    def volume(self, volume: float) -> None:
        self._volume = checked_volume(volume)

    def play(self, sound: Sound) -> None:
        """Start playing after what is queued; returns at once. SoundError when the device is lost."""
        if not len(sound.pcm):
            return
        with self._changed:
            if not self._lost:
                self._sent += 1
        try:
            if not self._lost:
                self._apart.send((sound.pcm.tobytes(), sound.rate, self._volume))
        except ApartError as cause:
            self._lose(str(cause))
        if self._lost:
            raise SoundError(self._lost)

    def stop(self) -> None:
        """Forget what is queued."""
        try:
            if not self._lost:
                self._apart.send(None)
        except ApartError as cause:
            self._lose(str(cause))

    @property
    def busy(self) -> bool:
        """Whether sound is still coming out, the device's own delay included."""
        return self._played < self._sent and not self._lost

    @property
    def lost(self) -> bool:
        """Whether the device or its process went away; close this and build another."""
        return bool(self._lost)

    def wait_finished(self, timeout_s: float) -> bool:
        """Wait until not busy; False when the time ran out first."""
        with self._changed:
            return self._changed.wait_for(lambda: not self.busy, timeout_s)

    def close(self) -> None:
        """End the process, in the middle of a sound too and whatever the driver does."""
        self._lose("the speaker is closed; open another")

    def _follow(self) -> None:
        """Take the process's signs until it is lost."""
        while not self._lost:
            try:
                sign = self._apart.receive(self._sign_s)
            except ApartError as cause:
                self._lose(f"the speaker '{self.name}' hangs ({cause}); the timers go on")
                return
            if isinstance(sign, SoundError):
                self._lose(str(sign))
            elif sign is not None:
                with self._changed:
                    self._played = max(self._played, sign)
                    self._changed.notify_all()

    def _lose(self, why: str) -> None:
        with self._changed:
            if self._lost:
                return
            self._lost = why
            self._changed.notify_all()
        self._apart.kill()

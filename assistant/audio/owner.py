"""One owner of the sound card, who reopens input and output together.

PortAudio's list of devices is frozen until it is started again, which no open stream survives: a microphone
that was plugged in again is found only after the speaker was closed too.
"""

from collections.abc import Callable
from contextlib import suppress
from threading import Lock
from typing import Any, Protocol

from assistant.audio.sound_cards import rescan
from assistant.errors import SoundError
from assistant.ports import Microphone, Sound, Speaker

_LAST_WORDS_S = 15.0
"""Wait at most this long for what is being said before the devices are looked for again."""


class FindableSpeaker(Speaker, Protocol):
    """A speaker that may go away, and can be waited for."""

    volume: float

    @property
    def lost(self) -> bool:
        """Whether it went away."""

    def wait_finished(self, timeout_s: float) -> bool:
        """Wait until not busy."""


class SoundOwner:
    """ports.Speaker that outlives the device.

    `open_microphone` returns a fresh microphone, also after a loss.

    `speaker`, `microphone`: open one; SoundError when they can't. A microphone that was returned must be
    closed before the next is asked for, by the one thread that asks. Everything else may be called from any
    thread.
    """

    def __init__(
        self,
        speaker: Callable[[], FindableSpeaker],
        microphone: Callable[[], Microphone],
        library: Any = None,
    ) -> None:
        self._open_speaker = speaker
        self._open_microphone = microphone
        self._library = library
        self._volume = 1.0
        self._refused = 0
        self._stale = False
        self._closed = False
        self._lock = Lock()
        self._microphone: Microphone | None = None
        self._speaker: FindableSpeaker | None = speaker()
        self._volume = self._speaker.volume

    def open_microphone(self) -> Microphone:
        """A fresh one; when it isn't the first, devices are looked for again, after what is being said."""
        with self._lock:
            if self._stale:
                self._look_again()
            self._stale = True
            self._microphone = self._open_microphone()
            return self._microphone

    @property
    def volume(self) -> float:
        """As the speaker's; a speaker that comes back has it too."""
        return self._volume

    @volume.setter
    def volume(self, volume: float) -> None:
        if (speaker := self._speaker) is not None:
            speaker.volume = volume
        self._volume = volume

    def play(self, sound: Sound) -> None:
        """As the speaker's; SoundError when it is lost.

        A lost speaker is looked for when it is first missed, then after twice as many sounds each time: that
        closes the microphone, whose owner comes back for a fresh one.
        """
        speaker, microphone = self._speaker, self._microphone
        try:
            if speaker is None:
                raise SoundError("there is no speaker; plug it in again, the timers go on")
            speaker.play(sound)
            self._refused = 0
        except SoundError:
            self._refused += 1
            if microphone is not None and self._refused & (self._refused - 1) == 0:
                microphone.close()
            raise

    def stop(self) -> None:
        """As the speaker's."""
        if (speaker := self._speaker) is not None:
            speaker.stop()

    @property
    def busy(self) -> bool:
        """As the speaker's; a lost one isn't."""
        speaker = self._speaker
        return speaker is not None and speaker.busy

    def close(self) -> None:
        """Let the speaker go for good."""
        self._closed = True
        self.stop()
        with self._lock:
            self._drop_speaker()

    def _look_again(self) -> None:
        speaker = self._speaker
        if speaker is not None and not speaker.lost:
            speaker.wait_finished(_LAST_WORDS_S)
        self._drop_speaker()
        rescan(self._library)
        if self._closed:
            return
        with suppress(SoundError):
            fresh = self._open_speaker()
            fresh.volume = self._volume
            self._speaker = fresh

    def _drop_speaker(self) -> None:
        speaker, self._speaker = self._speaker, None
        if speaker is not None:
            speaker.close()

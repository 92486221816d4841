"""What was said before is not made again."""

from collections import OrderedDict
from threading import Lock
from typing import Protocol

from assistant.ports import Sound, Voice


class RatedVoice(Voice, Protocol):
    """A voice with a name and a rate that can be changed."""

    voice: str
    rate: int


class CachedVoice:
    """ports.Voice that remembers sounds by text, rate and voice; from any thread.

    Past `max_bytes` (16 MiB are six minutes) the least recently spoken are forgotten. Its sounds are
    read-only.
    """

    def __init__(self, inner: RatedVoice, *, max_bytes: int = 16 * 1024 * 1024) -> None:
        self._inner = inner
        self._max_bytes = max_bytes
        self._bytes = 0
        self._sounds: OrderedDict[tuple[str, int, str], Sound] = OrderedDict()
        self._lock = Lock()

    @property
    def rate(self) -> int:
        """Words a minute of the voice inside."""
        return self._inner.rate

    @rate.setter
    def rate(self, rate: int) -> None:
        self._inner.rate = rate

    @property
    def voice(self) -> str:
        """Name of the voice inside."""
        return self._inner.voice

    @voice.setter
    def voice(self, voice: str) -> None:
        self._inner.voice = voice

    def speak(self, text: str) -> Sound:
        """Sound of the text."""
        key = (text, self._inner.rate, self._inner.voice)
        with self._lock:
            if key in self._sounds:
                self._sounds.move_to_end(key)
                return self._sounds[key]
        sound = self._inner.speak(text)
        sound.pcm.flags.writeable = False
        with self._lock:
            self._keep(key, sound)
        return sound

    def close(self) -> None:
        """Let the voice inside go, and forget everything."""
        self._inner.close()
        with self._lock:
            self._sounds.clear()
            self._bytes = 0

    def _keep(self, key: tuple[str, int, str], sound: Sound) -> None:
        old = self._sounds.pop(key, None)
        self._bytes += sound.pcm.nbytes - (old.pcm.nbytes if old else 0)
        self._sounds[key] = sound
        while self._bytes > self._max_bytes:
            _, gone = self._sounds.popitem(last=False)
            self._bytes -= gone.pcm.nbytes

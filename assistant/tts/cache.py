"""What was said before is not made again."""

from collections.abc import Iterable

from assistant.ports import Sound
from assistant.tts.espeak import EspeakVoice


class CachedVoice:
    """ports.Voice that remembers sounds by text, rate and voice; the least recently used go first past `max_bytes`."""

    def __init__(self, inner: EspeakVoice, *, max_bytes: int = 16 * 1024 * 1024) -> None:
        raise NotImplementedError

    rate: int
    """Words a minute, passed on to the voice inside."""

    def warm(self, texts: Iterable[str]) -> None:
        """Make the fixed phrases now, so that they start at once later."""
        raise NotImplementedError

    def speak(self, text: str) -> Sound:
        """Sound of the text."""
        raise NotImplementedError

    def close(self) -> None:
        """Let the voice inside go, and forget everything."""
        raise NotImplementedError

"""pyttsx3 with espeak-ng, used only as text to WAV file."""

from assistant.ports import Sound


class EspeakVoice:
    """ports.Voice by pyttsx3 and espeak-ng; any number may be made, one worker thread serves them all.

    `voice`: espeak-ng's name of a voice. `rate`: words a minute, 80 to 400, may be changed at any time.
    VoiceError from `speak` when espeak-ng is missing, the voice is unknown, or nothing comes in `timeout_s`.
    """

    def __init__(self, *, voice: str = "en-gb", rate: int = 160, timeout_s: float = 5.0) -> None:
        raise NotImplementedError

    rate: int
    voice: str

    def speak(self, text: str) -> Sound:
        """Sound of the text at 22,050 Hz, without silence before and after; safe from any thread."""
        raise NotImplementedError

    def close(self) -> None:
        """Refuse further texts; the engine itself lives as long as the process."""
        raise NotImplementedError

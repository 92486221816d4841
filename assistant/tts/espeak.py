"""pyttsx3 with espeak-ng, used only as text to sound; playing is left to the speaker."""

from functools import cache
from threading import Lock

import numpy as np

from assistant.errors import VoiceError
from assistant.ports import Sound
from assistant.tts.engine import VoiceWorker

SLOWEST, FASTEST = 80, 400
LONGEST = 1_000
_QUIET = 100  # of 32768: espeak-ng's own silence is exact zeros and a little dither
_LEAD_S = 0.005
_TAIL_S = 0.03


class EspeakVoice:
    """ports.Voice by pyttsx3 and espeak-ng; any number may be made, one worker thread serves them all.

    `voice`: espeak-ng's name of a voice. `rate`: see there. `timeout_s`: for one try of a few. `worker`:
    default the process's own. VoiceError from `speak` when espeak-ng is missing, the voice is unknown or
    nothing comes.
    """

    def __init__(
        self, *, voice: str = "en", rate: int = 160, timeout_s: float = 2.0, worker: VoiceWorker | None = None
    ) -> None:
        self.voice = voice
        self.rate = rate
        self._timeout_s = timeout_s
        self._worker = worker
        self._closed = False

    @property
    def rate(self) -> int:
        """Words a minute, 80 to 400; holds for what is spoken from now on."""
        return self._rate

    @rate.setter
    def rate(self, rate: int) -> None:
        self._rate = checked_rate(rate)

    def speak(self, text: str) -> Sound:
        """Sound of the text at 22,050 Hz, without the silence before and after; from any thread."""
        if self._closed:
            raise VoiceError("the voice is closed; make another")
        clean = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
        if not clean:
            raise VoiceError("there is nothing to say in an empty text; give it words")
        if len(clean) > LONGEST:
            raise VoiceError(f"the text to say has {len(clean)} characters, {LONGEST} are allowed; split it")
        worker = self._worker or process_worker()
        return trim(worker.make(clean, voice=self.voice, rate=self.rate, timeout_s=self._timeout_s))

    def close(self) -> None:
        """Refuse further texts.

        The engine lives as long as the process, since a second one would crash it.
        """
        self._closed = True


def checked_rate(rate: int) -> int:
    """The rate; VoiceError for one that the engine does not take."""
    if not SLOWEST <= rate <= FASTEST:
        raise VoiceError(f"{rate} words a minute is not between {SLOWEST} and {FASTEST}; 160 is plain speech")
    return rate


def trim(sound: Sound) -> Sound:
    """Without the silence before (all but 5 ms) and after (all but 30 ms): the reply starts at once."""
    loud = np.flatnonzero(np.abs(sound.pcm.astype(np.int32)) > _QUIET)
    if not len(loud):
        return sound
    first = max(0, int(loud[0]) - round(_LEAD_S * sound.rate))
    last = int(loud[-1]) + 1 + round(_TAIL_S * sound.rate)
    return Sound(sound.pcm[first:last].copy(), sound.rate)


_making = Lock()


def process_worker() -> VoiceWorker:
    """The worker that owns this process's only engine."""
    with _making:
        return _worker()


@cache
def _worker() -> VoiceWorker:
    return VoiceWorker(_EspeakEngine)


class _EspeakEngine:
    """pyttsx3's engine for espeak-ng; see `assistant.tts.engine.Engine`."""

    def __init__(self) -> None:
        import pyttsx3
        from pyttsx3.drivers import _espeak, espeak

        # It prints where it saved each file; standard output is the program's own.
        # A name in a module hides a builtin.
        espeak.print = lambda *_, **__: None
        self._library = _espeak
        engine = self._engine = pyttsx3.init("espeak")
        self.connect = engine.connect
        self.setProperty = engine.setProperty
        self.save_to_file = engine.save_to_file
        self.runAndWait = engine.runAndWait

    def rate(self) -> int:
        """As espeak-ng says itself.

        Pyttsx3 asks without saying whether it means the default or the current one.
        """
        return int(self._library.dll.espeak_GetParameter(self._library.RATE, 1))

    def let_go(self) -> None:
        """End its loop.

        The public `endLoop` also stops the synthesiser, which may hang from another thread.
        """
        self._engine.proxy._driver.endLoop()  # noqa: SLF001

    def working(self) -> bool:
        """As pyttsx3 or espeak-ng says itself."""
        return bool(self._engine.isBusy() or self._library.IsPlaying())

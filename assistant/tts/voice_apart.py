"""The voice in a process of its own, which is ended where it does not answer in time, and begun anew.

espeak-ng can't be made twice in a process: one that hangs there is silent for as long as the process lives.
`python -m assistant.tts.voice_apart CHANNEL` is the process.
"""

import sys
from collections.abc import Callable
from contextlib import suppress
from threading import Lock

from assistant.apart import Apart, Channel, inside
from assistant.errors import ApartError, VoiceError, one_line
from assistant.ports import Sound, Voice
from assistant.tts.espeak import EspeakVoice, checked_rate

_MODULE = "assistant.tts.voice_apart"
ANSWER_S = 5.0
"""A sentence is there within this time (s)."""
START_S = 30.0
"""What the first one takes at most, the start of the process on a slow machine included (s)."""
_WAKE_S = 600.0


def start_voice() -> Apart:
    """Start the process."""
    return Apart(_MODULE, name="voice")


class VoiceApart:
    """ports.Voice in a process of its own, which `start` starts; one sentence at a time, from any thread.

    `voice`: espeak-ng's name of a voice. `rate`: words a minute. VoiceError where the voice can't say it, or
    does not answer: the next sentence begins a process anew.
    """

    def __init__(
        self, start: Callable[[], Apart] = start_voice, *, voice: str = "en", rate: int = 160
    ) -> None:
        self.voice = voice
        self.rate = rate
        self._start = start
        self._apart: Apart | None = None
        self._closed = False
        self._speaking = Lock()

    @property
    def rate(self) -> int:
        """Words a minute, 80 to 400; holds for what is spoken from now on."""
        return self._rate

    @rate.setter
    def rate(self, rate: int) -> None:
        self._rate = checked_rate(rate)

    def speak(self, text: str) -> Sound:
        """Sound of the text."""
        with self._speaking:
            if self._closed:
                raise VoiceError("the voice is closed; make another")
            within_s = ANSWER_S
            try:
                if self._apart is None:
                    self._apart, within_s = self._start(), START_S
                self._apart.send((text, self.voice, self._rate))
                found = self._apart.receive(within_s)
            except (ApartError, OSError) as cause:
                self._end()
                raise VoiceError(f"the voice hung and is begun anew ({cause}); say it again") from cause
        if isinstance(found, VoiceError):
            raise found
        sound: Sound = found
        return sound

    def close(self) -> None:
        """End the process, whatever it is doing."""
        self._closed = True
        self._end()

    def _end(self) -> None:
        apart, self._apart = self._apart, None
        if apart is not None:
            apart.kill()


def serve(channel: Channel, make: Callable[[str, int], Voice]) -> None:
    """What the process does: (text, voice, rate) in, its sound or a VoiceError out."""
    while True:
        if channel.ready(_WAKE_S):
            text, voice, rate = channel.receive(0.0)
            try:
                answer: Sound | VoiceError = make(voice, rate).speak(text)
            except Exception as error:
                answer = error if isinstance(error, VoiceError) else VoiceError(one_line(error))
            channel.send(answer)


if __name__ == "__main__":
    with suppress(ApartError):  # the station is gone
        serve(inside(sys.argv[1]), lambda voice, rate: EspeakVoice(voice=voice, rate=rate))

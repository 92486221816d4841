"""Speaks replies: a tone where one belongs, then the sentence; the loop never waits for it."""

import threading
from collections.abc import Callable, Mapping
from queue import Empty, Queue

from assistant.batch.announcements import Tone
from assistant.errors import VoiceError
from assistant.loop import Reply
from assistant.ports import Sound, Speaker, Voice


class Mouth:
    """Turns replies into sound, in order. `on_silent` is told, once, why a sentence could not be spoken."""

    def __init__(
        self,
        voice: Voice,
        speaker: Speaker,
        tones: Mapping[Tone, Sound],
        *,
        on_silent: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._voice = voice
        self._speaker = speaker
        self._tones = tones
        self._on_silent = on_silent
        self._told = False
        self._waiting: Queue[tuple[Reply, ...]] = Queue()

    def say(self, replies: tuple[Reply, ...]) -> None:
        """Say these after what is waiting; returns at once."""
        if replies:
            self._waiting.put(replies)

    def run(self, stop: threading.Event) -> None:
        """Speak what is waiting, until stopped."""
        while not stop.is_set():
            try:
                replies = self._waiting.get(timeout=0.2)
            except Empty:
                continue
            self.speak(replies)

    def speak(self, replies: tuple[Reply, ...]) -> None:
        """Play these now; a sentence without sound is told once and does not stop the others."""
        for reply in replies:
            if reply.tone is not None:
                self._speaker.play(self._tones[reply.tone])
            try:
                sound = self._voice.speak(reply.text)
            except VoiceError as error:
                if not self._told:
                    self._on_silent(str(error))
                self._told = True
                continue
            self._speaker.play(sound)

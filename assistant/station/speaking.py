"""Speaks replies: a tone where one belongs, then the sentence; the loop never waits for it."""

import threading
from collections.abc import Callable, Iterable, Mapping
from queue import Empty, Queue

from assistant.batch.record.announcements import Tone
from assistant.errors import SoundError, VoiceError
from assistant.ports import Sound, Speaker, Voice
from assistant.station.station import SpokenReply

LOUDER = 1.3
"""A step louder multiplies the volume by this; just over 2 dB, plainly heard."""
FASTER = 20
"""A step faster, in words a minute."""


class RaisedVoice:
    """Speaks up as the room does: half of what the noise rose above the quietest that it was, `most_db` at most.

    People in noise raise their voice by some half of it (the Lombard reflex; the share is from memory).
    """

    def __init__(self, most_db: float) -> None:
        self._most_db = most_db
        self._quietest = float("inf")

    def lift_db(self, noise_dbfs: float | None) -> float:
        """How much louder to speak in this noise (dB); not at all while it is not known (None)."""
        if noise_dbfs is None:
            return 0.0
        self._quietest = min(self._quietest, noise_dbfs)
        return min(self._most_db, (noise_dbfs - self._quietest) / 2)


class Announcer:
    """Turns replies into sound, in order. `on_silent` is told, once, why a sentence could not be spoken.

    `often`: sentences to make ahead while there is nothing to say.
    """

    def __init__(
        self,
        voice: Voice,
        speaker: Speaker,
        tones: Mapping[Tone, Sound],
        *,
        often: Iterable[str] = (),
        on_silent: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._voice = voice
        self._speaker = speaker
        self._tones = tones
        self._often = iter(often)
        self._on_silent = on_silent
        self._told = False
        self._volume, self._rate = speaker.volume, voice.rate
        self._waiting: Queue[tuple[SpokenReply, ...]] = Queue()

    def adjust(self, loudness: int, pace: int, lift_db: float = 0.0) -> None:
        """Speak so many steps louder and faster than the settings say, and so much louder for the noise."""
        self._speaker.volume = self._volume * LOUDER**loudness * 10 ** (lift_db / 20)
        self._voice.rate = self._rate + FASTER * pace

    def say(self, replies: tuple[SpokenReply, ...]) -> None:
        """Say these after what is waiting; returns at once."""
        if replies:
            self._waiting.put(replies)

    def run(self, stop: threading.Event) -> None:
        """Speak what is waiting, until stopped."""
        while not stop.is_set():
            try:
                replies = self._waiting.get(timeout=0.2)
            except Empty:
                self._make_ahead()
            else:
                self.speak(replies)

    def speak(self, replies: tuple[SpokenReply, ...]) -> None:
        """Play these now; a sentence without sound is told once and does not stop the others."""
        for reply in replies:
            try:
                if reply.tone is not None:
                    self._speaker.play(self._tones[reply.tone])
                self._speaker.play(self._voice.speak(reply.text))
                self._told = False
            except (VoiceError, SoundError) as error:
                if not self._told:
                    self._on_silent(str(error))
                self._told = True

    def _make_ahead(self) -> None:
        """Make the next sentence that is said often, so that it starts at once when it is wanted."""
        text = next(self._often, None)
        if text is not None:
            try:
                self._voice.speak(text)
            except VoiceError as error:
                self._on_silent(str(error))
                self._often = iter(())

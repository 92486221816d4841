"""Speaks replies: the tone, if there is one, then the sentence; the loop never waits for it."""

import threading
from collections.abc import Callable, Iterable, Mapping
from queue import Empty, Queue

from assistant.batch.record.announcements import Tone
from assistant.errors import SoundError, VoiceError
from assistant.ports import Sound, Speaker, Voice
from assistant.station.station import SpokenReply

LOUDER = 1.3
"""Factor of one step louder; just over 2 dB, plainly heard."""
FASTER = 20
"""One step faster (words a minute)."""


class RaisedVoice:
    """Raises the voice with the noise: by half of its rise above the quietest so far, `most_db` at most.

    People raise their voice by about half of the noise's rise (the Lombard reflex; the share is from memory).
    """

    def __init__(self, most_db: float) -> None:
        self._most_db = most_db
        self._quietest = float("inf")

    def lift_db(self, noise_dbfs: float | None) -> float:
        """How much louder to speak in this noise (dB); `noise_dbfs` None: not known, 0."""
        if noise_dbfs is None:
            return 0.0
        self._quietest = min(self._quietest, noise_dbfs)
        return min(self._most_db, (noise_dbfs - self._quietest) / 2)


class Announcer:
    """Turns replies into sound, in order.

    `often`: sentences to make ahead while there is nothing to say. `on_silent` gets, once, the reason why a
    sentence could not be spoken.
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
        self._reported = False
        self._volume, self._rate = speaker.volume, voice.rate
        self._waiting: Queue[tuple[SpokenReply, ...]] = Queue()

    def adjust(self, loudness: int, pace: int, lift_db: float = 0.0) -> None:
        """Speak this many steps louder and faster than set, and louder by `lift_db` for the noise."""
        self._speaker.volume = self._volume * LOUDER**loudness * 10 ** (lift_db / 20)
        self._voice.rate = self._rate + FASTER * pace

    def say(self, replies: tuple[SpokenReply, ...]) -> None:
        """Queue these; returns at once."""
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
        """Play these now; a sentence without sound is reported once and does not stop the others."""
        for reply in replies:
            try:
                if reply.tone is not None:
                    self._speaker.play(self._tones[reply.tone])
                self._speaker.play(self._voice.speak(reply.text))
                self._reported = False
            except (VoiceError, SoundError) as error:
                if not self._reported:
                    self._on_silent(str(error))
                self._reported = True

    def _make_ahead(self) -> None:
        """Make the next sentence that is said often, so that it starts at once when it is needed."""
        text = next(self._often, None)
        if text is not None:
            try:
                self._voice.speak(text)
            except VoiceError as error:
                self._on_silent(str(error))
                self._often = iter(())

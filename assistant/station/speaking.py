"""Speaks replies: the tone, if there is one, then the sentence; the loop never waits for it."""

import re
import threading
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import Future
from queue import Empty, Queue

from assistant.batch.record.announcements import Tone
from assistant.errors import SoundError, VoiceError, one_line
from assistant.ports import Sound, Speaker, Voice
from assistant.station.station import SpokenReply

LOUDER = 1.3
"""Factor of one step louder; just over 2 dB, plainly heard."""
FASTER = 20
"""One step faster (words a minute)."""
PATIENCE_S = 2.0
"""A sentence is there within this time (s), or the voice hangs; one takes 10 ms (measured on x86)."""
MOST_UNSAID = 3
"""Sentences that are said when a voice which hung is back: those before are stale."""
MOST_QUEUED = 40
"""Turns that wait to be spoken."""
_SENTENCE_END = re.compile(r"(?<=[.!?]) +(?=\S)")


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
    """Turns replies into sound, in order. A voice that hangs holds up no tone.

    `often`: sentences to make ahead while there is nothing to say. `on_silent` gets, once, the reason why a
    sentence could not be spoken; `on_voice` is called once when the voice is back.
    `at_work` is told when the voice begins a sentence, and when that is there. A sentence that is not made
    within `patience_s` is said when it is there, the last `MOST_UNSAID` of them; meanwhile there are tones.
    """

    def __init__(
        self,
        voice: Voice,
        speaker: Speaker,
        tones: Mapping[Tone, Sound],
        *,
        often: Iterable[str] = (),
        on_silent: Callable[[str], None] = lambda _: None,
        on_voice: Callable[[], None] = lambda: None,
        at_work: Callable[[bool], None] = lambda _: None,
        patience_s: float = PATIENCE_S,
    ) -> None:
        self._at_work = at_work
        self._voice = voice
        self._speaker = speaker
        self._tones = tones
        self._often = iter(often)
        self._on_silent = on_silent
        self._on_voice = on_voice
        self._patience_s = patience_s
        self._reported = False
        self._volume, self._rate = speaker.volume, voice.rate
        self._waiting: Queue[tuple[SpokenReply, ...]] = Queue()
        self._texts: Queue[tuple[str, Future[Sound]]] = Queue()
        self._hangs: Future[Sound] | None = None
        self._unsaid: deque[str] = deque(maxlen=MOST_UNSAID)
        threading.Thread(target=self._make, name="voice, its sentences", daemon=True).start()

    def adjust(self, loudness: int, pace: int, lift_db: float = 0.0) -> None:
        """Speak this many steps louder and faster than set, and louder by `lift_db` for the noise."""
        self._speaker.volume = self._volume * LOUDER**loudness * 10 ** (lift_db / 20)
        self._voice.rate = self._rate + FASTER * pace

    def say(self, replies: tuple[SpokenReply, ...]) -> None:
        """Queue these; returns at once. Past `MOST_QUEUED` turns the oldest without a ring is left out."""
        if not replies:
            return
        with self._waiting.mutex:
            queued = self._waiting.queue
            if len(queued) >= MOST_QUEUED:
                calm = (i for i, turn in enumerate(queued) if not any(_rings(reply) for reply in turn))
                del queued[next(calm, 0)]
        self._waiting.put(replies)

    def run(self, stop: threading.Event) -> None:
        """Speak what is waiting, until stopped."""
        while not stop.is_set():
            try:
                replies = self._waiting.get(timeout=0.2)
            except Empty:
                if self._is_back():
                    self._make_ahead()
            else:
                self.speak(replies)

    def speak(self, replies: tuple[SpokenReply, ...]) -> None:
        """Play these now; a sentence without sound is reported once and does not stop the others."""
        for reply in replies:
            try:
                if reply.tone is not None:
                    self._speaker.play(self._tones[reply.tone])
                self._say_in_parts(first_and_rest(reply.text))
            except (VoiceError, SoundError) as error:
                self._silent(str(error))

    def _silent(self, why: str) -> None:
        if not self._reported:
            self._reported = True
            self._on_silent(why)

    def _works(self) -> None:
        if self._reported:
            self._reported = False
            self._on_voice()

    def _say_in_parts(self, parts: tuple[str, ...]) -> None:
        """Play the first part as soon as it is there; the voice makes the rest meanwhile."""
        ordered = [self._order(part) for part in parts] if self._is_back() else []
        for part, done in enumerate(ordered):
            sound = self._there(done)
            if sound is None:
                self._unsaid.append(" ".join(parts[part:]))
                return
            self._speaker.play(sound)
            self._works()
        if not ordered:
            self._unsaid.append(" ".join(parts))

    def _order(self, text: str) -> Future[Sound]:
        done: Future[Sound] = Future()
        self._texts.put((text, done))
        return done

    def _there(self, done: Future[Sound]) -> Sound | None:
        """The sound of what was ordered; None where the voice hangs. Raises VoiceError."""
        try:
            return done.result(self._patience_s)
        except TimeoutError:
            self._hangs = done
            self._silent(f"the voice does not answer for {self._patience_s:g} s; tones go on without it")
            return None

    def _is_back(self) -> bool:
        """Whether the voice does not hang; when it ceases to, what it owes is said."""
        if self._hangs is None:
            return True
        if not self._hangs.done():
            return False
        self._hangs = None
        unsaid, self._unsaid = list(self._unsaid), deque(maxlen=MOST_UNSAID)
        self.speak(tuple(SpokenReply("", text) for text in unsaid))
        return self._hangs is None

    def _make(self) -> None:
        """The voice's own thread: it may hang."""
        while True:
            text, done = self._texts.get()
            self._at_work(True)
            try:
                done.set_result(self._voice.speak(text))
            except Exception as error:  # whoever waits must get an answer
                known = isinstance(error, VoiceError | SoundError)
                done.set_exception(error if known else VoiceError(one_line(error)))
            self._at_work(False)

    def _make_ahead(self) -> None:
        """Make the next sentence that is said often, so that it starts at once when it is needed."""
        text = next(self._often, None)
        if text is not None:
            try:
                for part in first_and_rest(text):
                    if self._is_back():
                        self._there(self._order(part))
            except VoiceError as error:
                self._silent(str(error))
                self._often = iter(())


def first_and_rest(text: str) -> tuple[str, ...]:
    """The first sentence of a text, and all behind it: the first can sound while the voice makes the rest."""
    return tuple(_SENTENCE_END.split(text, maxsplit=1))


def _rings(reply: SpokenReply) -> bool:
    return reply.tone in ("ring", "ring_firm")

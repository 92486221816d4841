"""Whether a cook can be heard at all: too loud a room, a microphone that is set too high. Pure.

Rule: what is wrong is reported once, when it begins, and again only after it was well. Time is what was fed.
A microphone that sends nothing is noticed by `audio.capture`.
"""

from collections import deque
from dataclasses import dataclass
from enum import Enum
from statistics import median

import numpy as np

from assistant.hearing.level import SILENCE_DBFS, NoiseLevel, speech_dbfs
from assistant.ports import SPEECH_RATE, Pcm

FULL = 32_600
"""A sample from here on counts as clipped: converters stop a little short of full scale."""

BLIND_S = 5.0
"""After exact zeros (nobody asked to be heard, a cut in a recording) the level is unknown this long (s)."""

CLEAN_AFTER = 20
"""Sentences in a row without clipping that end it: a cook who shouts now and then hears of it once."""


class Hearing(Enum):
    """What hinders hearing."""

    WELL = "nothing"
    TOO_LOUD = "the room is too loud for this voice from here"
    CLIPPED = "speech is clipped: the microphone is set too high or too near"


@dataclass(frozen=True, slots=True)
class HealthLimits:
    """When something is wrong."""

    least_snr_db: float = 5.5
    """Below it commands are no longer heard reliably. Clips mixed at 5 and 0 dB are measured here as 7.2 and
    3.9 (`tests/bench/hearing`)."""
    relief_db: float = 3.0
    """Well again this far above it."""
    loud_s: float = 4.0
    """How long it must last."""
    unheard: int = 2
    """Sentences in a row that were not understood at such a ratio."""
    clipped_share: float = 0.01
    """Share of an utterance's samples at full scale."""


class Health:
    """Follows the microphone's sound and what was made of each utterance."""

    def __init__(self, limits: HealthLimits = HealthLimits()) -> None:
        self._limits = limits
        self._noise = NoiseLevel()
        self._voice: deque[float] = deque(maxlen=8)
        self._loud_s = 0.0
        self._unheard = 0
        self._blind_s = BLIND_S
        self._clean_left = 0
        self._reported = Hearing.WELL

    @property
    def noise_dbfs(self) -> float:
        """Level of the room (dBFS)."""
        return self._noise.dbfs

    @property
    def snr_db(self) -> float | None:
        """How far this cook's voice is above the noise now (dB); None before a sentence was understood."""
        return median(self._voice) - self._noise.dbfs if self._voice else None

    def feed(self, block: Pcm) -> Hearing | None:
        """Take the next block, none of our own voice in it; what is wrong, where that changed."""
        seconds = len(block) / SPEECH_RATE
        self._noise.feed(block)
        self._blind_s = max(0.0, self._blind_s - seconds) if block.any() else BLIND_S
        ratio = self.snr_db if self._blind_s == 0 else None
        limit = self._limits.least_snr_db
        if ratio is not None:
            if self._reported is Hearing.TOO_LOUD:
                limit += self._limits.relief_db
            self._loud_s = self._loud_s + seconds if ratio < limit else 0.0
            if ratio >= limit:
                self._unheard = 0
        return self._changed()

    def utterance(self, sound: Pcm, *, understood: bool) -> Hearing | None:
        """Take an utterance with the quiet around it; what is wrong, where that changed."""
        speech = speech_dbfs(sound, self._noise.dbfs)
        clipped = float(np.mean(np.abs(sound.astype(np.int32)) >= FULL)) > self._limits.clipped_share
        self._clean_left = CLEAN_AFTER if clipped else max(0, self._clean_left - 1)
        stands_out = speech > SILENCE_DBFS
        faint = speech - self._noise.dbfs < self._limits.least_snr_db
        if understood:
            if stands_out:
                self._voice.append(speech)
            self._unheard, self._loud_s = 0, 0.0
        elif faint and self._blind_s == 0:
            self._unheard += 1
        return self._changed()

    def _changed(self) -> Hearing | None:
        found = self._found()
        if found is self._reported:
            return None
        self._reported = found
        return found

    def _found(self) -> Hearing:
        limits = self._limits
        loud = self._loud_s >= limits.loud_s or (self._reported is Hearing.TOO_LOUD and self._loud_s > 0)
        if loud or self._unheard >= limits.unheard:
            return Hearing.TOO_LOUD
        return Hearing.CLIPPED if self._clean_left else Hearing.WELL


class HealthReports:
    """Reports of a health as keys of announcements: "too_loud" and then "hearing_again", "clipped".

    `block` belongs to the thread that takes the microphone's blocks; `spoken` may be called from any.
    """

    def __init__(self, health: Health | None = None) -> None:
        self._health = health or Health()
        self.noise_dbfs: float | None = None
        """Level of the room, to be read from any thread; None before a block of sound was taken."""
        self._spoken: deque[tuple[Pcm, bool]] = deque()
        self._before = Hearing.WELL

    def spoken(self, utterance: Pcm, *, understood: bool) -> None:
        """An utterance was recognised; it counts with the next block."""
        self._spoken.append((utterance, understood))

    def block(self, block: Pcm) -> list[str]:
        """Take a block without our own voice in it; what is to be said now."""
        changes = [self._health.feed(block)]
        level = self._health.noise_dbfs
        self.noise_dbfs = level if level > SILENCE_DBFS else None
        while self._spoken:
            sound, understood = self._spoken.popleft()
            changes.append(self._health.utterance(sound, understood=understood))
        return [key for change in changes if change is not None and (key := self._key(change)) is not None]

    def _key(self, now: Hearing) -> str | None:
        """The announcement of a change; that it is well again is said only after it could not hear."""
        before, self._before = self._before, now
        if now is Hearing.WELL:
            return "hearing_again" if before is Hearing.TOO_LOUD else None
        return "too_loud" if now is Hearing.TOO_LOUD else "clipped"

"""What a new word costs in hearing: synthetic cooks say it, and what sounds like it, with and without it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from assistant.app.words.new_sentences import Sample
from assistant.asr.confidence import in_a_batch
from assistant.audio.motor import motor
from assistant.audio.resample import resample
from assistant.batch.record.commands import Command
from assistant.ports import SPEECH_RATE, Asking, Pcm, Recogniser, Recognition, Sound

COOKS = (("en-us", 150), ("en-gb-x-rp", 160), ("en-gb-scotland", 150))
"""Voices of espeak-ng that play the cook, each with its words a minute."""
NOISE_DB = 10.0
"""How far the voice is above the motor in the noisy half of a trial."""
_AROUND_S = 0.3
_QUIET = Sound(np.zeros(round(_AROUND_S * SPEECH_RATE), np.int16))

Speak = Callable[[str, str, int], Sound]
"""Text, voice, words a minute -> sound; raises VoiceError."""


@dataclass(frozen=True, slots=True)
class Heard:
    """How often one sentence was heard rightly."""

    text: str
    right: int
    of: int
    asked: int = 0
    """Of those that were right: how often it would be asked about."""
    before: int = 0
    """How often it was heard rightly now or without the new words: each that was lost counts."""
    mistaken: tuple[str, ...] = ()
    """Commands that it was taken for instead, each as often as it was."""


@dataclass(frozen=True, slots=True)
class Trial:
    """What came of a trial."""

    new: tuple[Heard, ...]
    """The new sentences."""
    others: tuple[Heard, ...]
    """What sounds like them."""
    talk: tuple[Heard, ...]
    """Talk that sounds like them: right is what was not taken."""

    @property
    def right(self) -> int:
        """How often the new sentences were heard rightly."""
        return sum(one.right for one in self.new)

    @property
    def of(self) -> int:
        """How often they were said."""
        return sum(one.of for one in self.new)

    @property
    def gain(self) -> int:
        """How often it is heard rightly, less what is lost by it."""
        lost = sum(one.before - one.right for one in self.others)
        return self.right - lost - sum(one.of - one.right for one in self.talk)

    @property
    def worse(self) -> tuple[Heard, ...]:
        """What is heard worse than before."""
        return tuple(one for one in self.others if one.right < one.before)

    @property
    def taken(self) -> tuple[Heard, ...]:
        """Talk that was taken for a command."""
        return tuple(one for one in self.talk if one.right < one.of)


def tried(
    new: Sequence[Sample],
    others: Sequence[Sample],
    talk: Sequence[str],
    *,
    before: Recogniser[Command],
    after: Recogniser[Command],
    act_above: float,
    speak: Speak,
) -> Trial:
    """Say and hear all of it, in quiet and beside a motor; talk in quiet alone. Raises VoiceError."""

    def said(text: str) -> list[Sound]:
        spoken = [resample(speak(text, voice, rate), SPEECH_RATE) for voice, rate in COOKS]
        return [sound for one in spoken for sound in (_around(one.pcm, None), _around(one.pcm, NOISE_DB))]

    def right(found: Recognition[Command], sample: Sample) -> bool:
        return found.accepted and found.meaning == sample.means

    heard: list[Heard] = []
    for sample in new:
        all_found = [after.recognise(sound, asking=sample.asking) for sound in said(sample.text)]
        good = [one for one in all_found if right(one, sample)]
        unsure = sum(in_a_batch(one.sure) < act_above for one in good)
        others_heard = tuple(one.text for one in all_found if _acts(one) and not right(one, sample))
        heard.append(Heard(sample.text, len(good), len(all_found), unsure, mistaken=others_heard))
    compared: list[Heard] = []
    for sample in others:
        sounds = said(sample.text)
        missed = [
            sound for sound in sounds if not right(after.recognise(sound, asking=sample.asking), sample)
        ]
        lost = sum(right(before.recognise(sound, asking=sample.asking), sample) for sound in missed)
        now = len(sounds) - len(missed)
        compared.append(Heard(sample.text, now, len(sounds), before=now + lost))
    kept: list[Heard] = []
    for text in talk:
        quiet = said(text)[::2]
        found = [after.recognise(sound, asking=Asking.NOTHING) for sound in quiet]
        taken = tuple(one.text for one in found if _acts(one))
        kept.append(Heard(text, len(quiet) - len(taken), len(quiet), mistaken=taken))
    return Trial(tuple(heard), tuple(compared), tuple(kept))


def _acts(found: Recognition[Command]) -> bool:
    """Whether it is taken for a command; talk that is listened for means none."""
    return found.accepted and found.meaning is not None


def _around(pcm: Pcm, snr_db: float | None) -> Sound:
    """A sentence with some quiet around it, beside a motor where `snr_db` says how far below it that is."""
    whole = np.concatenate([_QUIET.pcm, pcm, _QUIET.pcm])
    if snr_db is None:
        return Sound(whole)
    level = 20 * np.log10(max(1.0, float(np.sqrt(np.mean(np.square(pcm.astype(np.float64)))))) / 32768)
    noise = motor(len(whole), level_dbfs=float(level) - snr_db, seed=11)
    return Sound(np.clip(whole.astype(np.int32) + noise, -32768, 32767).astype(np.int16))

"""Twenty prompts: how well this cook is heard in this room, and which limits follow from it.

A trial is a value; what is made of it is pure. `hear_prompt` is the one part that takes sound.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Literal

from assistant.app.application import Application
from assistant.asr.adapting.learning import Said
from assistant.asr.confidence import in_a_batch
from assistant.batch.record.commands import Command, Incomplete
from assistant.config.station_settings import RecogniserSettings
from assistant.hearing.early_decision import Spoken
from assistant.hearing.health import FULL
from assistant.hearing.level import SILENCE_DBFS, NoiseLevel, level_dbfs, own_snr_db, speech_dbfs
from assistant.hearing.recognising import at_once
from assistant.ports import SPEECH_RATE, Asking, Pcm, Recogniser, Recognition, Sound

PROMPTS = (
    "new batch eighteen fifty",
    "target thirty one",
    "water three hundred",
    "mixer on",
    "poured fifteen",
    "make that fifty",
    "how much left",
    "water one sixteen",
    "crumb dry",
    "undo",
    "mix two minutes",
    "water one sixty",
    "got it",
    "rest fourteen minutes",
    "crumb ready",
    "timer three forty minutes",
    "extruding",
    "scrap thirty five",
    "tray done",
    "close batch",
)
"""What is asked for: commands of one batch, with number twins."""

LONGEST_S = 8.0
"""How long a prompt waits for its sentence."""
DEFAULT = RecogniserSettings()
LEAST, MOST = 0.75, 0.97
"""How far `act_above` goes for a room: not so low that a number is mistaken, not so high that all is
asked."""
CLEAR = 0.01
"""How far it is set above what was mistaken."""
ASKED = 0.2
"""Share of prompts asked about from which it may go down."""
ENOUGH = 10
"""Least number of sentences heard rightly to set limits from; with fewer the room must change."""


Kind = Literal["right", "asked", "caught", "wrong", "nothing"]
"""Right; right, after a question; wrong, but a question would show it; wrong; nothing was heard."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptResult:
    """What came of one prompt."""

    prompt: str
    kind: Kind
    text: str = ""
    """The sentence that was recognised."""
    cost: float = math.inf
    """How badly the sound fits it."""
    sure: float = 0.0
    """How sure the station would be in a batch that the prompt suits, a probability."""
    speech_dbfs: float = SILENCE_DBFS
    """Level of the speech."""
    clipped: float = 0.0
    """Share of the samples at full scale."""
    snr_db: float | None = None
    """How far the speech is above the noise; None where that is not known."""
    sound: Sound | None = field(default=None, repr=False, compare=False)
    """What was said; None where nothing was."""


@dataclass(frozen=True, slots=True)
class Trial:
    """All prompts of one cook."""

    cook: str
    """Who spoke."""
    noise_dbfs: float
    """Level of the room while nobody spoke."""
    heard: tuple[PromptResult, ...]
    """One result for each prompt."""

    def count(self, *kinds: Kind) -> int:
        """Number of prompts of one of these kinds."""
        return sum(one.kind in kinds for one in self.heard)

    @property
    def snr_db(self) -> float | None:
        """How far the voice is above the noise of the room (dB); None where nothing was heard."""
        levels = [one.speech_dbfs for one in self.heard if one.speech_dbfs > SILENCE_DBFS]
        return median(levels) - self.noise_dbfs if levels else None


@dataclass(frozen=True, slots=True)
class HearingLimits:
    """The settings of the recogniser that a trial may change."""

    act_above: float
    """How sure it must be to act without a question."""


def hear_prompt(
    app: Application, recogniser: Recogniser[Command], prompt: str, blocks: Iterable[Pcm]
) -> PromptResult:
    """Hear one prompt: the first sentence in the blocks, `LONGEST_S` of them at most."""
    listener = app.listener(at_once(recogniser, lambda: Asking.NOTHING))
    full = fed = 0
    spoken: list[Spoken] = []
    for block in blocks:
        full += int((abs(block.astype("int32")) >= FULL).sum())
        fed += len(block)
        spoken = listener.feed(block)
        if spoken or fed >= LONGEST_S * SPEECH_RATE:
            break
    spoken = spoken or listener.flush()
    clipped = full / max(fed, 1)
    if not spoken:
        return PromptResult(prompt=prompt, kind="nothing", clipped=clipped)
    found = spoken[0].recognition.result()
    sound, noise = spoken[0].utterance.sound.pcm, NoiseLevel()
    noise.feed(sound)
    level, ratio = speech_dbfs(sound, noise.dbfs), own_snr_db(sound)
    kind = _kind(app, prompt, found)
    return PromptResult(
        prompt=prompt,
        kind=kind,
        text=found.text,
        cost=found.cost,
        sure=in_a_batch(found.sure),
        speech_dbfs=level,
        clipped=clipped,
        snr_db=ratio,
        sound=spoken[0].utterance.sound,
    )


def said_in(app: Application, trial: Trial) -> list[Said[Command]]:
    """What was said in a trial, with its sound."""
    return [
        Said(one.prompt, app.grammar.parse(one.prompt), one.sound)
        for one in trial.heard
        if one.sound is not None
    ]


def _kind(app: Application, prompt: str, found: Recognition[Command]) -> Kind:
    command = found.meaning if found.accepted else None
    if command is None:
        return "nothing"
    right = command == app.grammar.parse(prompt)
    sure = in_a_batch(found.sure) >= app.settings.recogniser.act_above
    sure = sure and not isinstance(command, Incomplete)  # the station asks for the number
    if right:
        return "right" if sure else "asked"
    return "wrong" if sure else "caught"


def room_dbfs(pcm: Pcm) -> float:
    """Level of the room while nobody speaks (dBFS)."""
    return level_dbfs(pcm)


def limits(trial: Trial, now: HearingLimits, *, fitted: bool = False) -> HearingLimits:
    """Limits for this room and cook, from what is in force now.

    It goes up to what would have asked about every wrong sentence of the trial. Where nothing was wrong and
    many were asked about, it goes down, though not to what was mistaken and asked about. Too few right
    sentences change nothing. Where the recogniser was `fitted` to the cook after the trial, it does not go
    down: whoever is heard better for that is asked less already.
    """
    if trial.count("right", "asked") < ENOUGH:
        return now
    wrong = [one.sure + CLEAR for one in trial.heard if one.kind == "wrong"]
    if wrong:
        return HearingLimits(min(MOST, max(DEFAULT.act_above, math.ceil(100 * max(wrong)) / 100)))
    if fitted or trial.count("asked") <= ASKED * len(trial.heard):
        return HearingLimits(DEFAULT.act_above)
    caught = [one.sure + CLEAR for one in trial.heard if one.kind == "caught"]
    return HearingLimits(
        min(DEFAULT.act_above, max([LEAST, *(math.ceil(100 * one) / 100 for one in caught)]))
    )


def summary(trial: Trial, old: HearingLimits, new: HearingLimits) -> list[str]:
    """What a cook should know, in plain words; the totals first."""
    n = len(trial.heard)
    lines = [
        f"{trial.count('right')} of {n} right at once, {trial.count('asked', 'caught')} with a question, "
        f"{trial.count('nothing')} not heard, {trial.count('wrong')} wrong."
    ]
    lines += [f'  "{one.prompt}" was heard as "{one.text}".' for one in trial.heard if one.kind == "wrong"]
    ratio = trial.snr_db
    lines.append("No voice was found." if ratio is None else f"Your voice is {ratio:.0f} dB above the room.")
    lines += _advice(trial, ratio)
    if new != old:
        lines.append(f"Set for this room: act_above {new.act_above:g} (was {old.act_above:g}).")
    return lines


def _advice(trial: Trial, ratio: float | None) -> Sequence[str]:
    """What to change, the most important first."""
    n = len(trial.heard)
    found = []
    if any(one.clipped > 0.01 for one in trial.heard):
        found.append("The microphone is set too high: turn its level down.")
    if ratio is None or trial.count("nothing") > n / 2:
        found.append("Hardly anything was heard: is it the right microphone? `crumbcall check` lists them.")
    elif ratio < 10:
        found.append("Too little for a loud kitchen: bring the microphone nearer to your mouth, or wear one.")
    elif trial.count("right", "asked") < 0.8 * n:
        found.append(
            "The room is quiet enough and still words are missed: try another microphone, or speak on it."
        )
    if trial.count("wrong"):
        found.append("Something was mistaken: listen to the read-back, it says each number that was taken.")
    if not found and trial.count("right") < 0.9 * n:
        found.append("It works, with more questions than need be: speak nearer to the microphone.")
    return found or ["Good: nothing needs to change."]

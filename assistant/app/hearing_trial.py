"""Twenty prompts: how well this cook is heard in this room, and which limits follow from it.

A trial is a value; what is made of it is pure. `hear_prompt` is the one part that takes sound.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from assistant.app.application import House
from assistant.batch.record.commands import Incomplete
from assistant.config.station_settings import RecogniserSettings
from assistant.hearing.early_decision import Spoken
from assistant.hearing.health import FULL
from assistant.hearing.level import SILENCE_DBFS, NoiseLevel, level_dbfs, own_snr_db, speech_dbfs
from assistant.hearing.listeners import at_once
from assistant.nlu.rescoring import needed_margin
from assistant.ports import SPEECH_RATE, Pcm, Recogniser, Recognition

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
MOST_MARGIN = 8 / 3
LEAST_COST, MOST_COST = 0.9, 1.2
"""How far limits may go from the recogniser's own (shares of them): far enough for a room, not to take talk."""
ENOUGH = 10
"""Sentences heard rightly from which limits may follow; with fewer it is the room that must change."""


@dataclass(frozen=True, slots=True)
class Heard:
    """What came of one prompt; levels in dBFS, `clipped` a share of the samples.

    `kind`: right, asked (right, by a question), caught (wrong, but a question would show it), wrong, or nothing.
    """

    prompt: str
    kind: str
    text: str
    cost: float
    margin: float
    speech_dbfs: float
    clipped: float
    snr_db: float | None = None


@dataclass(frozen=True, slots=True)
class Trial:
    """All prompts of one cook, and the level of the room (dBFS) while nobody spoke."""

    cook: str
    noise_dbfs: float
    heard: tuple[Heard, ...]

    def count(self, *kinds: str) -> int:
        """How many prompts came to one of these."""
        return sum(one.kind in kinds for one in self.heard)

    @property
    def snr_db(self) -> float | None:
        """How far the voice stands above the room (dB); None where nothing was heard."""
        levels = [one.speech_dbfs for one in self.heard if one.speech_dbfs > SILENCE_DBFS]
        return median(levels) - self.noise_dbfs if levels else None


@dataclass(frozen=True, slots=True)
class Limits:
    """What the station is to hold to: see `max_cost` and `min_margin` of the settings."""

    max_cost: float
    min_margin: float


def hear_prompt(house: House, recogniser: Recogniser, prompt: str, blocks: Iterable[Pcm]) -> Heard:
    """Hear one prompt: the first sentence in the blocks, `LONGEST_S` of them at most."""
    ear = house.ear(at_once(recogniser, lambda: False))
    full = fed = 0
    spoken: list[Spoken] = []
    for block in blocks:
        full += int((abs(block.astype("int32")) >= FULL).sum())
        fed += len(block)
        spoken = ear.feed(block)
        if spoken or fed >= LONGEST_S * SPEECH_RATE:
            break
    spoken = spoken or ear.flush()
    clipped = full / max(fed, 1)
    if not spoken:
        return Heard(prompt, "nothing", "", float("inf"), 0.0, SILENCE_DBFS, clipped)
    found = spoken[0].recognition.result()
    sound, noise = spoken[0].utterance.sound.pcm, NoiseLevel()
    noise.feed(sound)
    level, ratio = speech_dbfs(sound, noise.dbfs), own_snr_db(sound)
    kind = _kind(house, prompt, found, ratio)
    return Heard(prompt, kind, found.text, found.cost, found.margin, level, clipped, ratio)


def _kind(house: House, prompt: str, found: Recognition, snr_db: float | None) -> str:
    command = house.grammar.parse(found.text) if found.accepted else None
    if command is None:
        return "nothing"
    right = command == house.grammar.parse(prompt)
    sure = found.margin >= needed_margin(house.settings.recogniser.min_margin, snr_db)
    sure = sure and not isinstance(command, Incomplete)  # the station asks for the number
    if right:
        return "right" if sure else "asked"
    return "wrong" if sure else "caught"


def room_dbfs(pcm: Pcm) -> float:
    """Level of the room while nobody speaks."""
    return level_dbfs(pcm)


def limits(trial: Trial, now: Limits) -> Limits:
    """Limits for this room and cook, from what is in force now.

    The margin goes up to what would have asked about every wrong number of the trial; the cost follows the worst
    fit of what was heard rightly, with a tenth to spare. Too few right sentences change nothing.
    """
    right = [one.cost for one in trial.heard if one.kind in ("right", "asked")]
    if len(right) < ENOUGH:
        return now
    # The setting holds for 20 dB and more; in more noise the station asks below a multiple of it.
    wrong = [
        (one.margin + DEFAULT.min_margin / 6) / needed_margin(1.0, one.snr_db)
        for one in trial.heard
        if one.kind == "wrong"
    ]
    margin = min(MOST_MARGIN * DEFAULT.min_margin, max([DEFAULT.min_margin, *wrong]))
    cost = min(MOST_COST * DEFAULT.max_cost, max(LEAST_COST * DEFAULT.max_cost, 1.1 * max(right)))
    return Limits(round(cost, 2), math.floor(10 * margin) / 10)


def told(trial: Trial, old: Limits, new: Limits) -> list[str]:
    """What a cook should know, in plain words; the sum first."""
    n = len(trial.heard)
    lines = [
        f"{trial.count('right')} of {n} right at once, {trial.count('asked', 'caught')} with a question, "
        f"{trial.count('nothing')} not heard, {trial.count('wrong')} wrong."
    ]
    lines += [f'  "{one.prompt}" was heard as "{one.text}".' for one in trial.heard if one.kind == "wrong"]
    ratio = trial.snr_db
    lines.append(
        "No voice was found." if ratio is None else f"Your voice stands {ratio:.0f} dB above the room."
    )
    lines += _advice(trial, ratio)
    if new != old:
        lines.append(
            f"Set for this room: max_cost {new.max_cost:g} (was {old.max_cost:g}), "
            f"min_margin {new.min_margin:g} (was {old.min_margin:g})."
        )
    return lines


def _advice(trial: Trial, ratio: float | None) -> Sequence[str]:
    """What to change, the most telling first; nothing where all is well."""
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

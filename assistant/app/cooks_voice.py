"""The voice that the recogniser is fitted to: what is kept of a cook, and how a hearing test makes it."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from assistant.asr.adapting.confusions import NO_COOK, Cook
from assistant.asr.adapting.learning import Learned, Said, learned
from assistant.asr.network import digest, named
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.batch.record.commands import Command
from assistant.config.hearing_file import TAKE_AGAIN, cook_file, read_cook
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.errors import SettingsError
from assistant.ports import Recogniser

AS_IT_IS = "Your voice is heard best as it is."


@dataclass(frozen=True, slots=True)
class CooksVoice:
    """What is known of the cook who is listened for."""

    name: str = ""
    """"" for nobody."""
    cook: Cook = field(default_factory=dict)
    """Empty where nothing is kept or what is kept can't be used."""
    problem: str = ""
    """Why what is kept can't be used, one line; "" where it can."""


NOBODYS = CooksVoice()
"""Anybody is listened for."""


def cooks_voice(home: Home, settings: Settings, name: str | None = None) -> CooksVoice:
    """What is kept of a cook, by default of the one whom the settings name."""
    name = settings.station.cook if name is None else name
    file = cook_file(home.settings_file, name)
    try:
        cook = read_cook(file) if name else NO_COOK
    except SettingsError as error:
        return CooksVoice(name, problem=str(error))
    chosen = settings.recogniser
    if cook and not chosen.model and not all(digest(one) in cook for one in named(chosen.weights)):
        problem = f"{file} was made with other weights; {TAKE_AGAIN}."
        return CooksVoice(name, problem=problem)
    return CooksVoice(name, cook)


def learned_from(
    recogniser: Recogniser[Command], said: Iterable[Said[Command]], act_above: float
) -> Learned | None:
    """What a recogniser can learn of a cook's prompts; None where it can't learn at all."""
    if not isinstance(recogniser, PhonemeRecogniser):
        return None
    return learned(recogniser, said, act_above)


def told(found: Learned) -> str:
    """One line for the cook."""
    if not found.enough:
        return "Too little was heard to fit it to your voice."
    if not found.cook:
        return AS_IT_IS
    return (
        "Fitted to your voice: of sentences that it was not fitted to it is "
        f"{100 * found.after:.0f} % sure, {100 * found.before:.0f} % as anybody's."
    )

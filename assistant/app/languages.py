"""What the program says of the language that is set, where that is not the language it hears."""

from assistant.config.resources import ENGLISH
from assistant.config.settings import Settings

_NAMES = {"it": "Italian"}
"""English names of the languages that ship."""


def language_note(settings: Settings) -> str | None:
    """One line where the station answers in another language than English; None where it does not."""
    language = settings.station.language
    if language == ENGLISH:
        return None
    replies = f"replies are {_NAMES.get(language, f'in the language {language}')}."
    if settings.recogniser.engine == "phoneme":
        return f"The built-in recogniser hears English commands; {replies}"
    return f"The recogniser hears what its model and commands.jsgf are made for; {replies}"

"""How a wording and its values become a sentence. Pure."""

import re
from collections.abc import Callable, Mapping

from assistant.batch.record.announcements import Value
from assistant.nlg.speech import Speech
from assistant.nlg.templates import Piece

TEXT_VALUES = frozenset(
    {
        "lot",
        "timer",
        "other",
        "cook",
        "die",
        "said",
        "heard",
        "near",
        "command",
        "worker",
        "recipe",
        "ingredient",
        "allergens",
        "parts",
        "walk",
        "step",
        "caution",
        "start",
    }
)
"""Values that are names; all others are numbers."""

Format = Callable[[Speech, Value], str]

TEXT_FORMATS: Mapping[str, Format] = {
    "name": Speech.name,
    "allergens": Speech.allergens,
    "listed": Speech.listed,
    "digits": Speech.spelled,
    "timer": Speech.timer,
    "label": Speech.label,
}
NUMBER_FORMATS: Mapping[str, Format] = {
    "mass": Speech.mass,
    "digits": Speech.spelled,
    "percent": Speech.percent,
    "duration": Speech.duration,
    "about": Speech.about,
    "count": Speech.count,
}


def formats_of(value_name: str) -> Mapping[str, Format]:
    """Formats that speak the value of this name."""
    return TEXT_FORMATS if value_name in TEXT_VALUES else NUMBER_FORMATS


def sentence(pieces: tuple[Piece, ...], values: Mapping[str, Value], speech: Speech) -> str:
    """Put the values in as this language says them, and begin each sentence with a capital."""
    spoken = (
        piece if isinstance(piece, str) else formats_of(piece[0])[piece[1]](speech, values[piece[0]])
        for piece in pieces
    )
    return _BEGINNING.sub(lambda found: found.group().upper(), "".join(spoken))


_BEGINNING = re.compile(r"(?:^|[.?]\s+)[^\W\d_]")

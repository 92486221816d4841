"""What of a line counts when lines are compared: words without endings, numbers by kind, and pairs."""

import re
from collections.abc import Sequence

from assistant.nlu.typed.spans import PLAIN, Part

PAIR = 0.5
"""Weight of two words side by side, to that of one word."""
_ENDINGS = re.compile(r"(?<=...)(ing|ed|es|s)$")
_SHORT_FORMS = re.compile(r"'(s|re|m|ve|ll|d)$")


def terms_of(parts: Sequence[Part]) -> set[str]:
    """Terms of a line; a pair has a space in it."""
    stems = [stem for part in parts if (stem := part.kind if part.is_number else _stem(part.kind))]
    plain = [PLAIN if stem.startswith(PLAIN) else stem for stem in stems]
    pairs = {f"{one} {other}" for one, other in zip(["^", *plain], plain, strict=False)}
    return {*stems, *plain, *pairs}


def weight_of(term: str) -> float:
    """What a term counts, to a word."""
    return PAIR if " " in term else 1.0


def _stem(word: str) -> str:
    return _ENDINGS.sub("", _SHORT_FORMS.sub("", word))

"""A turn is short, for the station is deaf while it speaks: at most two sentences and six seconds. Pure.

The seconds are estimated from the text alone, for espeak-ng at its default pace of 160 words a minute.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from assistant.batch.record.announcements import SAYABLE, Announcement
from assistant.nlg.left_out import CAN_WAIT, SHORTER

MOST_S = 6.0
"""Longest turn (s of speech)."""
MOST_SENTENCES = 2

_BEGIN_S, _LETTER_S, _FIGURE_S, _COMMA_S, _STOP_S = 0.2, 0.069, 0.15, 0.36, 0.48
_COMMA = re.compile(r"[,:;]")
_STOP = re.compile(r"[.?!](?=\s)")
_AT_END = ".?! »"

Worded = tuple[Announcement, str]
"""An announcement and its sentence."""


def seconds_of(text: str) -> float:
    """How long it takes to say a text (s), estimated."""
    body = text.rstrip(_AT_END)
    letters = sum(sign.isalpha() for sign in body)
    figures = sum(sign.isdecimal() for sign in body)
    pauses = _COMMA_S * len(_COMMA.findall(body)) + _STOP_S * len(_STOP.findall(body))
    return _BEGIN_S + _LETTER_S * letters + _FIGURE_S * figures + pauses


def sentences_in(text: str) -> int:
    """How many sentences a text has."""
    return 1 + len(_STOP.findall(text.rstrip(_AT_END)))


def is_brief(texts: Sequence[str]) -> bool:
    """Whether a turn of these replies is short enough."""
    return sum(map(sentences_in, texts)) <= MOST_SENTENCES and sum(map(seconds_of, texts)) <= MOST_S


def brief(turn: Sequence[Announcement], render: Callable[[Announcement], str]) -> list[Worded]:
    """What of a turn is said: all of it, or as much as is brief; `render` words it.

    What can wait longest is said in its shorter form, where it has one, or left out; then whatever else has a
    shorter form. A caution, a question and the figure that counts stay, however long they are.
    """
    said = [(one, render(one)) for one in turn]
    while not is_brief([text for _, text in said]):
        place = _next_to_go([one.key for one, _ in said])
        if place is None:
            break
        one, _ = said[place]
        if one.key in SHORTER:
            short = _shorter(one)
            said[place] = (short, render(short))
            continue
        del said[place]
        first, text = said[0]
        # The tone at the beginning of a turn belongs to all of it.
        said[0] = (replace(first, tone=first.tone or one.tone), text)
    return said


def _next_to_go(keys: Sequence[str]) -> int | None:
    """Place of the reply that is made shorter, or left out, next; None where all must stay as they are."""
    waiting = [
        place for place, key in enumerate(keys) if key in CAN_WAIT and (len(keys) > 1 or key in SHORTER)
    ]
    if waiting:
        return min(waiting, key=lambda place: (CAN_WAIT.index(keys[place]), -place))
    return max((place for place, key in enumerate(keys) if key in SHORTER), default=None)


def _shorter(announcement: Announcement) -> Announcement:
    """The shorter form, with those of the values that it has."""
    key = SHORTER[announcement.key]
    values = {name: announcement.values[name] for name in SAYABLE[key]}
    return Announcement(key, values, announcement.tone)

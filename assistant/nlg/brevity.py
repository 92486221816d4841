"""A turn is short, for the station is deaf while it speaks: at most two sentences and six seconds. Pure.

The seconds are estimated from the text alone, for espeak-ng at its default pace of 160 words a minute.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from assistant.batch.record.announcements import CAN_WAIT, SAYABLE, SHORTER, Announcement

MOST_S = 6.0
"""Longest turn (s of speech)."""
MOST_SENTENCES = 2

_BEGIN_S, _LETTER_S, _FIGURE_S, _COMMA_S, _STOP_S = 0.17, 0.066, 0.15, 0.355, 0.476
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

    What can wait longest is left out first, then what has a shorter form is said in it. A caution, a question
    and the figure that counts stay, however long they are.
    """
    said = [(one, render(one)) for one in turn]
    while not is_brief([text for _, text in said]):
        waiting = [place for place, (one, _) in enumerate(said) if one.key in CAN_WAIT]
        if len(said) > 1 and waiting:
            left_out, _ = said.pop(
                min(waiting, key=lambda place: (CAN_WAIT.index(said[place][0].key), -place))
            )
            first, text = said[0]
            # The tone at the beginning of a turn belongs to all of it.
            said[0] = (replace(first, tone=first.tone or left_out.tone), text)
            continue
        long = [place for place, (one, _) in enumerate(said) if one.key in SHORTER]
        if not long:
            break
        short = _shorter(said[long[-1]][0])
        said[long[-1]] = (short, render(short))
    return said


def _shorter(announcement: Announcement) -> Announcement:
    """The shorter form, with those of the values that it has."""
    key = SHORTER[announcement.key]
    values = {name: announcement.values[name] for name in SAYABLE[key]}
    return Announcement(key, values, announcement.tone)

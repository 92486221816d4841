"""Whether a call that sends a hand into the machine begins with switching off; one list of words a language.

ISO 12100 and 29 CFR 1910.147 leave isolation to the person; so the switch is named before the hand.
"""

import math
import re
from collections.abc import Iterable, Sequence
from functools import cache

from assistant.batch.record.announcements import Announcement
from assistant.config.resources import grammar_folder
from assistant.nlg.names import FILE, read_names
from assistant.nlg.replies import Replies
from assistant.nlg.speech import Speech, number_words

HAND_IN = {
    "en": re.compile(
        r"\b(squeeze\b|tak(e|ing) ((it|any|some|the \w+|them) )?(out|apart)|reach|open(ing)? (it|the|up)"
        r"|lift the lid|trim|scrap(e|ing)|wip(e|ing) (it|the)|loosen|unscrew|pull|poke"
        r"|(clear|free) (it|the)|clean (it|the (threads|hopper|ring|die))|(hand|finger)s? in\b)",
        re.IGNORECASE,
    ),
    "it": re.compile(
        r"\b(string|togli(erne|ne|lo|la)?\b|apri|raschia|gratta|pulisci|asciuga|allenta|svita|sfila|smonta|tira"
        r"|libera|rifila|infila|metti (la|le) man)",
        re.IGNORECASE,
    ),
}
"""Words that send a hand into hopper, lid or die."""

OFF = {
    "en": re.compile(r"\b(switch(ed)? (it )?off|(machine )?off(,| and) unplugged)", re.IGNORECASE),
    "it": re.compile(r"\b(spegni(la)?|spenta)\b", re.IGNORECASE),
}

ELSEWHERE = ("jug", "scale", "calibrate")
"""How the keys begin whose hand goes to the scale."""

WALKS = ("walk_begun", "walk_resumed")
"""What opens a walk-through; its first words are then of switching off, and its steps follow from there."""


def hand_before_off(text: str, language: str) -> bool:
    """Whether the text sends a hand in before it has said to switch off."""
    hand, off = HAND_IN[language].search(text), OFF[language].search(text)
    return hand is not None and (off is None or off.start() > hand.start())


@cache
def replies_of(language: str) -> Replies:
    """The replies of a language that ships."""
    names = read_names([grammar_folder(language) / FILE])
    speech = Speech(number_words(language), names)
    return Replies.load(grammar_folder(language) / "replies.toml", speech=speech)


def text_of(announcement: Announcement, language: str) -> str:
    """The sentence; nothing where a value is no number, which the grammar never gives."""
    if any(isinstance(value, float) and math.isnan(value) for value in announcement.values.values()):
        return ""
    return replies_of(language).render(announcement)


def calls_before_off(announcements: Sequence[Announcement], language: str) -> list[str]:
    """Replies of one decision that send a hand in, though neither they nor the reply before said off."""
    texts = [text_of(one, language) for one in announcements]
    found, opened = list[str](), False
    for place, (one, text) in enumerate(zip(announcements, texts, strict=True)):
        if one.key in WALKS:
            opened = True
        elif one.key in ("walk_step", "walk_caution"):
            # A later step stands behind the first one, which said it when the walk-through was opened.
            found += [text] if opened and not OFF["en"].search(text) else []
            opened = False
        elif not one.key.startswith(ELSEWHERE) and hand_before_off(text, language):
            before = texts[place - 1] if place else ""
            found += [] if OFF[language].search(before) else [text]
    return found


def check_off_first(announcements: Sequence[Announcement], languages: Iterable[str] = ("en", "it")) -> None:
    """Hold what one decision says to the rule, in each language; steps of walk-throughs are English here."""
    for language in languages:
        assert calls_before_off(announcements, language) == []

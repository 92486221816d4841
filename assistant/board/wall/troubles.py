"""What is wrong with the station, in words that stay on the page as long as it is so. Pure."""

from assistant.board.board_words import BoardWords
from assistant.board.glance import Glance


def trouble(glance: Glance, words: BoardWords) -> str:
    """That nothing is written, then what else is to be looked after; empty where all is well."""
    found = [words.text("trouble.not_written")] if glance.failing else []
    if glance.wrong:
        found.append(words.text("trouble.parts", parts=", ".join(map(words.name, glance.wrong))))
    return " ".join(found)


def is_dated(glance: Glance) -> bool:
    """Whether the time of day at which a station went can be told: of a clock that was not set it can't."""
    return glance.wall_trusted and glance.age_known


def gone_text(glance: Glance, time: str, words: BoardWords) -> str:
    """That the station is gone, and since when where that is known."""
    return words.text("hearing.gone", time=time) if is_dated(glance) else words.text("hearing.gone_undated")


def old_text(glance: Glance, words: BoardWords) -> str:
    """How old the figures are, with {time} and {minutes} for the page to put in."""
    if is_dated(glance):
        return words.text("hearing.old", time="{time}", minutes="{minutes}")
    if glance.age_known:
        return words.text("hearing.old_undated", minutes="{minutes}")
    return words.text("hearing.old_unknown")

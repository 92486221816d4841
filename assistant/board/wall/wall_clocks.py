"""All that runs, in order of urgency: timers, trays, the time of an open dough and of the machine. Pure."""

from datetime import UTC, datetime
from typing import Any

from assistant.batch.record.state import Timer
from assistant.batch.record.timer_kinds import tray_of
from assistant.board.board_words import BoardWords
from assistant.board.glance import Glance

_UNDATED = {"cold_by": "cold_in", "by": "in"}
"""Wording of a time of day -> that of what is left until then."""


def clocks(glance: Glance, words: BoardWords) -> list[dict[str, Any]]:
    """Every clock, what rings first, then by when it is due; each with its station time (s) and its name.

    A clock with a `by` shows that time of day instead of what is left.
    """
    state = glance.state
    ringing = list(state.ringing)
    running = sorted((one for one in state.timers if not one.ringing), key=lambda one: one.due)
    found = [(timer.due, _timer(timer, glance, words)) for timer in running] + _of_food(glance, words)
    return [_timer(timer, glance, words) for timer in ringing] + [
        clock for _, clock in sorted(found, key=lambda one: one[0])
    ]


def timer_name(timer: Timer, words: BoardWords) -> str:
    """What a timer is called."""
    if timer.kind == "tray":
        batch, tray = tray_of(timer.name)
        return words.text("timer.tray", batch=batch, tray=tray)
    return words.text("timer.digit" if timer.name.isdigit() else "timer.named", name=timer.name)


def _timer(timer: Timer, glance: Glance, words: BoardWords) -> dict[str, Any]:
    how = "ringing" if timer.ringing else "sure" if timer.certain else "unsure"
    wording = "cold_by" if timer.kind == "tray" else ""
    return _clock(timer_name(timer, words), timer.due, how, wording, glance, words)


def _of_food(glance: Glance, words: BoardWords) -> list[tuple[float, dict[str, Any]]]:
    """Clocks of food safety that no timer has, each with when it is due.

    They are an open dough's, until a tray has it, and that of clean down, which stays till it is done.
    """
    found = list[tuple[float, bool, str, str]]()
    batch, unclean = glance.state.batch, glance.state.unclean
    if batch is not None and batch.wet_at is not None and not batch.trays:
        due = batch.wet_at + batch.food_rules.cold_s
        found.append((due, batch.time_certain, words.text("timer.dough"), "cold_by"))
    if unclean is not None:
        found.append((unclean.due, unclean.certain, words.text("timer.clean"), "by"))
    shown = []
    for due, certain, name, wording in found:
        how = "over" if due <= glance.now else "sure" if certain else "unsure"
        shown.append((due, _clock(name, due, how, wording, glance, words)))
    return shown


def _clock(
    name: str, due: float, how: str, wording: str, glance: Glance, words: BoardWords
) -> dict[str, Any]:
    """`wording`: of the time of day, to the minute before; of what is left where no clock tells that.

    Empty: what is left alone.
    """
    by = text = ""
    if how != "sure":
        text = words.text(f"timer.{how}", time="{time}")
    elif wording and glance.wall_trusted:
        by = words.text(f"timer.{wording}", time=time_of_day(glance.wall + due - glance.now + 0.5, glance))
    elif wording:
        text = words.text(f"timer.{_UNDATED[wording]}", time="{time}")
    return {"name": name, "due": due, "how": how, "by": by, "text": text}


def time_of_day(wall: float, glance: Glance) -> str:
    """A wall time (s since 1970) as 17:40 in the kitchen's zone."""
    return f"{datetime.fromtimestamp(wall, UTC).astimezone(glance.zone):%H:%M}"


def zone_s(glance: Glance) -> float:
    """How far the kitchen's time is ahead of UTC (s)."""
    offset = datetime.fromtimestamp(glance.wall, UTC).astimezone(glance.zone).utcoffset()
    return 0.0 if offset is None else offset.total_seconds()

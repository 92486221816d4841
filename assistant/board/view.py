"""What the page shows, as plain values and texts. Pure: state, time and wording in, a JSON object out."""

from typing import Any

from assistant.batch.decide.answers import next_step
from assistant.batch.record.batch import Batch
from assistant.batch.record.rules import BatchRules, Known
from assistant.batch.record.state import State, Timer
from assistant.batch.record.timer_kinds import tray_of
from assistant.board.board_words import BoardWords
from assistant.nlg.replies import Replies


def board_view(
    state: State,
    now: float,
    rules: BatchRules,
    replies: Replies,
    words: BoardWords,
    known: Known,
    *,
    current: bool,
) -> dict[str, Any]:
    """The page's values at station time `now` (s); masses in whole grams, times in whole seconds.

    `current` is false where the journal was last written before this machine was started: then the station is
    not running, times mean nothing, and the page says so.
    """
    batch = state.batch
    clocks = [(timer.due, _timer(timer, now, words)) for timer in state.timers]
    clocks += _food_clocks(state, now, words)
    return {
        "running": current,
        "listening": state.listening,
        "asking": state.question is not None,
        "title": words.text("page.title")
        if batch is None
        else words.text("batch.title", number=batch.number, lot=batch.lot),
        "status": words.text(f"status.{_status(state, current=current)}"),
        "batch": None if batch is None else _batch(batch, words),
        "timers": [clock for _, clock in sorted(clocks, key=lambda one: one[0])] if current else [],
        "next": " ".join(replies.render(one) for one in next_step(state, now, rules, known)),
    }


def _status(state: State, *, current: bool) -> str:
    if not current:
        return "not_running"
    if state.question is not None:
        return "asking"
    return "listening" if state.listening else "not_listening"


def _batch(batch: Batch, words: BoardWords) -> dict[str, Any]:
    """The account, and the marks as shares of the water at high (0 to 1)."""
    to_target = round(batch.left_g)
    at_high = batch.water_g + batch.to_high_g
    over_high = batch.to_pour_g(batch.high_pct) < 0
    unit = "left" if to_target >= 0 else "past_high" if over_high else "past_target"
    account = {
        "water_g": round(batch.water_g),
        "flour_g": round(batch.flour_g),
        "hydration_pct": round(batch.hydration_pct, 1),
        "target_pct": batch.target_pct,
        "phase": batch.phase.value,
        "crumb": batch.crumb,
    }
    return {
        "number": batch.number,
        "lot": batch.lot,
        **account,
        "left_g": max(0, to_target),
        "over_g": max(0, -to_target),
        "over_high": over_high,
        "unit": words.text(f"unit.{unit}"),
        "account": ", ".join([words.text("batch.account", **account), *_press(batch, words)]),
        "share": min(1.0, batch.water_g / at_high),
        "low_share": batch.low_pct / batch.high_pct,
        "target_share": batch.target_pct / batch.high_pct,
    }


def _press(batch: Batch, words: BoardWords) -> list[str]:
    """The die that is in, and how warm the strand was last."""
    found = [] if batch.die is None else [words.text("batch.die", die=batch.die)]
    if batch.at_die.exits:
        found.append(words.text("batch.exit", celsius=batch.at_die.exits[-1].celsius))
    return found


def _timer(timer: Timer, now: float, words: BoardWords) -> dict[str, Any]:
    how = "ringing" if timer.ringing else "sure" if timer.certain else "unsure"
    return _clock(_name(timer, words), timer.remaining_s(now), how, words)


def _food_clocks(state: State, now: float, words: BoardWords) -> list[tuple[float, dict[str, Any]]]:
    """Clocks of food safety that no timer has, each with when it is due.

    They are an open dough's, until a tray has it, and that of clean down, which stays till it is done.
    """
    found, batch, unclean = list[tuple[float, bool, str]](), state.batch, state.unclean
    if batch is not None and batch.wet_at is not None and not batch.trays:
        name = words.text("timer.cold", celsius=batch.food_rules.celsius)
        found.append((batch.wet_at + batch.food_rules.cold_s, batch.time_certain, name))
    if unclean is not None:
        found.append((unclean.due, unclean.certain, words.text("timer.clean")))
    return [
        (due, _clock(name, max(0.0, due - now), _how(due > now, certain=certain), words))
        for due, certain, name in found
    ]


def _how(runs: bool, *, certain: bool) -> str:
    if not runs:
        return "over"
    return "sure" if certain else "unsure"


def _clock(name: str, left_s: float, how: str, words: BoardWords) -> dict[str, Any]:
    minutes, seconds = divmod(round(left_s), 60)
    return {
        "name": name,
        "time": words.text(f"timer.{how}", time=f"{minutes}:{seconds:02}"),
        "remaining_s": 60 * minutes + seconds,
        "ringing": how == "ringing",
        "certain": how != "unsure",
    }


def _name(timer: Timer, words: BoardWords) -> str:
    if timer.kind == "tray":
        batch, tray = tray_of(timer.name)
        return words.text("timer.tray", batch=batch, tray=tray)
    return words.text("timer.digit" if timer.name.isdigit() else "timer.named", name=timer.name)

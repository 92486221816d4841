"""What the page shows, as plain values. Pure: state, time and wording in, a JSON object out."""

from typing import Any

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record.commands import Ask
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import Batch, State, Timer
from assistant.nlg.replies import Replies


def board_view(
    state: State, now: float, rules: BatchRules, replies: Replies, *, current: bool
) -> dict[str, Any]:
    """The page's values at station time `now` (s); masses in whole grams, times in whole seconds.

    `current` is false where the journal was last written before this machine was started: then the station is
    not running, times mean nothing, and the page says so.
    """
    decision = decide(state, Said(Ask("next")), now, rules)
    batch = state.batch
    return {
        "running": current,
        "listening": state.listening,
        "asking": state.question is not None,
        "batch": None if batch is None else _batch(batch),
        "timers": [_timer(timer, now) for timer in sorted(state.timers, key=lambda t: t.due)]
        if current
        else [],
        "next": " ".join(replies.render(announcement) for announcement in decision.announcements),
    }


def _batch(batch: Batch) -> dict[str, Any]:
    """The account, and the marks as shares of the water at high (0 to 1)."""
    to_target = round(batch.to_target_g)
    at_high = batch.water_g + batch.to_high_g
    return {
        "number": batch.number,
        "lot": batch.lot,
        "phase": batch.phase.value,
        "crumb": batch.crumb,
        "flour_g": round(batch.flour_g),
        "water_g": round(batch.water_g),
        "hydration_pct": round(batch.hydration_pct, 1),
        "left_g": max(0, to_target),
        "over_g": max(0, -to_target),
        "over_high": batch.to_high_g < 0,
        "share": min(1.0, batch.water_g / at_high),
        "low_share": batch.low_pct / batch.high_pct,
        "target_share": batch.target_pct / batch.high_pct,
        "target_pct": batch.target_pct,
    }


def _timer(timer: Timer, now: float) -> dict[str, Any]:
    return {
        "name": f"timer {timer.name}" if timer.name.isdigit() else timer.name,
        "remaining_s": round(timer.remaining_s(now)),
        "ringing": timer.ringing,
        "certain": timer.certain,
    }

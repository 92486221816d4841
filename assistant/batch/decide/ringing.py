"""What comes by itself: calls before the end, rings, rings again; one after the other, the most urgent first.

Law: nothing is spoken into an open question; what falls due meanwhile waits until it is closed, `question_s` at
most. What is spoken late says so.
"""

from assistant.batch.decide.cooking import TASTE_S
from assistant.batch.decide.draft import Draft
from assistant.batch.decide.trays import say_tray, tray_of
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Tone
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State, Timer, TimerKind
from assistant.batch.record.transitions import Phase

LATE_S = 3.0
"""A ring that comes later than this (s) says by how much."""
LAST_MINUTE_S = 60.0
_URGENCY: dict[TimerKind, int] = {"cook": 0, "mix": 1, "rest": 2, "named": 3, "tray": 4}
"""Pasta in the water is lost first, then a dough that is mixed too long."""


OFTEN = 8
"""Calls of a ringing timer, one `ring_every_s` after the other, before they come further apart."""


def rest_calls_at(now: float, seconds: float, rules: BatchRules) -> tuple[float, ...]:
    """When a rest that begins now is called before its end: at half-time and in the last minute, if it is long."""
    if not 0 < rules.rest_calls_s <= seconds or seconds < 4 * LAST_MINUTE_S:
        return ()
    return (now + seconds / 2, now + seconds - LAST_MINUTE_S)


def lead_s(kind: TimerKind, rules: BatchRules) -> float:
    """How long before its end (s) a timer that got more time is announced."""
    return {"cook": TASTE_S, "rest": LAST_MINUTE_S}.get(kind, rules.warn_s)


def next_due(state: State) -> float | None:
    """Station time (s) at which `decide` must next be asked about `Due`; None when nothing is waited for."""
    if state.question is not None:
        return state.question.expires
    return min((_moment(timer) for timer in state.timers), default=None)


def _moment(timer: Timer) -> float:
    """When a timer next has something to say."""
    if timer.ringing:
        return timer.next_call
    return timer.due if timer.warn_at is None else min(timer.warn_at, timer.due)


def due(d: Draft) -> None:
    """Do all that is due by now; a timer that is long overdue calls once, not many times."""
    if d.state.question is not None:
        if d.state.question.expires > d.now:
            return
        lapse(d)
    for timer in sorted((t for t in d.state.timers if _moment(t) <= d.now), key=lambda t: _order(t, d.now)):
        if timer.ringing:
            calls = timer.calls + 1
            d.happen(ev.TimerCalled(d.now, timer.name, calls, d.now + _pause_s(timer, d.rules)))
            _say_ringing(d, timer, firm=calls > 2)
        elif timer.due <= d.now:
            _ring(d, timer)
        else:
            d.happen(ev.TimerWarned(d.now, timer.name))
            _warn(d, timer)


def _order(timer: Timer, now: float) -> tuple[bool, int, float]:
    """What is up goes before what is only announced; then by urgency; then what was due first."""
    return (timer.due > now, _URGENCY[timer.kind], _moment(timer))


def lapse(d: Draft) -> None:
    """Close the open question: silence means no."""
    reason = d.state.question.reason if d.state.question else None
    d.happen(ev.QuestionSettled(d.now, None))
    d.say("entry_stays" if reason == "differs" else "lapsed")


def _warn(d: Draft, timer: Timer) -> None:
    left = timer.remaining_s(d.now)
    match timer.kind:
        case "cook":
            d.say("taste_one", die=timer.name)
        case "tray":
            say_tray(d, timer, "tray_warning")
        case "rest" if left > LAST_MINUTE_S + LATE_S:
            d.say("rest_half", seconds=round(left))
        case "rest":
            d.say("rest_warning", seconds=round(left))
        case _:
            d.say("mix_warning", seconds=round(left))


def _ring(d: Draft, timer: Timer) -> None:
    late = d.now - timer.due
    d.happen(ev.TimerRang(d.now, timer.name, d.now + _pause_s(timer, d.rules)))
    if timer.kind == "mix" and d.state.phase is Phase.MIXING:
        d.happen(ev.MixEnded(d.now))
    if timer.kind == "rest" and d.state.phase is Phase.RESTING:
        d.happen(ev.RestEnded(d.now))
    _say_ringing(d, timer, firm=False)
    if late > LATE_S and timer.certain:
        d.say("late", seconds=late)
    if timer.kind == "rest" and d.rules.prep_calls and 0 < d.rules.rest_calls_s <= timer.seconds:
        d.say("prep_rest_over")


def _pause_s(timer: Timer, rules: BatchRules) -> float:
    """Between two calls (s). Nobody is nagged for ever: what went unheard `OFTEN` times calls less often.

    So does a tray that is over its time from the start: it calls for hours if it must.
    """
    return rules.ring_every_s * (4 if timer.kind == "tray" or timer.calls >= OFTEN else 1)


def _say_ringing(d: Draft, timer: Timer, *, firm: bool) -> None:
    tone: Tone = "ring_firm" if firm else "ring"
    if timer.kind == "cook":
        d.say("cook_rings", tone, die=timer.name)
    elif timer.kind == "tray":
        batch, tray = tray_of(timer)
        d.say("tray_rings", tone, batch=batch, tray=tray)
    elif timer.kind == "named" or d.state.phase is not Phase.SQUEEZING:
        d.say("timer_rings", tone, timer=timer.name)
    else:
        d.say("mix_rings" if timer.kind == "mix" else "rest_rings", tone)

"""What comes by itself: calls before the end, rings, rings again; one after the other, the most urgent first.

Law: nothing is spoken into an open question; what falls due meanwhile waits until it is closed, `question_s`
at most. What is spoken late says so.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import SAYABLE, Tone, Value
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State, Timer
from assistant.batch.record.timer_kinds import LAST_MINUTE_S, TIMER_KINDS, TimerKind, tray_of

LATE_S = 3.0
"""A ring that comes later than this (s) says by how much."""
OFTEN = 8
"""Calls of a ringing timer, one `ring_every_s` after the other, before they come further apart."""
SELDOM = 4
"""Pause between later calls, in `ring_every_s`: nobody is nagged for ever."""


def rest_calls_at(now: float, seconds: float, rules: BatchRules) -> tuple[float, ...]:
    """When a rest that begins now is called: if it is long, at half-time and in its last minute."""
    if not 0 < rules.rest_calls_s <= seconds or seconds < 4 * LAST_MINUTE_S:
        return ()
    return (now + seconds / 2, now + seconds - LAST_MINUTE_S)


def warned_at(d: Draft, kind: TimerKind, seconds: float, *, was: bool = False) -> float | None:
    """When a timer with this time left (s) is announced before its end; None: not.

    `was`: it was to be before.
    """
    traits = TIMER_KINDS[kind]
    lead = traits.lead_s(d.rules)
    by_kind = traits.announced == "always" or (traits.announced == "in_a_batch" and d.state.batch is not None)
    wanted = was or (by_kind and seconds >= 2 * lead)
    return d.now + seconds - lead if wanted and lead < seconds else None


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
    """Do all that is due by now, unless a question is open.

    A timer that is long overdue calls once, not many times.
    """
    if d.state.question is not None:
        return
    for timer in sorted((t for t in d.state.timers if _moment(t) <= d.now), key=lambda t: _order(t, d.now)):
        if timer.ringing:
            calls = timer.calls + 1
            next_call = d.now + _pause_s(timer, d.rules)
            d.happen(ev.TimerCalled(at=d.now, name=timer.name, calls=calls, next_call=next_call))
            _say_ringing(d, timer, firm=calls > 2)
        elif timer.due <= d.now:
            _ring(d, timer)
        else:
            d.happen(ev.TimerWarned(at=d.now, name=timer.name))
            _warn(d, timer)


def _order(timer: Timer, now: float) -> tuple[bool, int, float]:
    """What is up goes before what is only announced; then by urgency; then what was due first."""
    return (timer.due > now, timer.traits.urgency, _moment(timer))


def lapse(d: Draft) -> None:
    """Close the open question: silence means no.

    One that waits for a value is not mentioned again, nor one whether an addition is in: it is asked again.
    """
    reason = d.state.question.reason if d.state.question else None
    d.happen(ev.QuestionSettled(at=d.now, yes=None))
    if reason not in ("missing", "addition"):
        d.say("entry_stays" if reason == "differs" else "lapsed")


def _warn(d: Draft, timer: Timer) -> None:
    early = timer.traits.warns_early
    is_early = early is not None and timer.remaining_s(d.now) > LAST_MINUTE_S + LATE_S
    say_timer(d, timer, early if early is not None and is_early else timer.traits.warns)


def _ring(d: Draft, timer: Timer) -> None:
    late = d.now - timer.due
    d.happen(ev.TimerRang(at=d.now, name=timer.name, next_call=d.now + _pause_s(timer, d.rules)))
    interval = timer.traits.interval
    if interval is not None and d.state.phase is interval.phase:
        end_phase(d)
    _say_ringing(d, timer, firm=False)
    if late > LATE_S and timer.certain:
        d.say("late", seconds=late)
    if timer.traits.prep and d.rules.prep_calls and 0 < d.rules.rest_calls_s <= timer.seconds:
        d.say("prep_rest_over")


def end_phase(d: Draft) -> None:
    """Mixing or resting, whichever it is, is over, and its timer with it unless it rings."""
    mixing = d.state.phase is Phase.MIXING
    d.happen(ev.MixEnded(at=d.now) if mixing else ev.RestEnded(at=d.now))


def _pause_s(timer: Timer, rules: BatchRules) -> float:
    """Between two calls (s); what went unheard `OFTEN` times calls less often."""
    return rules.ring_every_s * (SELDOM if timer.calls >= OFTEN else timer.traits.pause)


def _say_ringing(d: Draft, timer: Timer, *, firm: bool) -> None:
    interval = timer.traits.interval
    crumb_is_due = interval is not None and d.state.phase is Phase.SQUEEZING
    key = interval.rings if interval is not None and crumb_is_due else timer.traits.rings
    say_timer(d, timer, key, "ring_firm" if firm else "ring")


def say_time_left(d: Draft, timer: Timer) -> None:
    """What is left on a timer, and whether that is certain."""
    certain, unsure = timer.traits.left
    say_timer(d, timer, certain if timer.certain else unsure)


def say_timer(d: Draft, timer: Timer, key: str, tone: Tone | None = None) -> None:
    """Announce something of a timer, with those of its values that the wording may use."""
    values: dict[str, Value] = {"timer": timer.name, "die": timer.name, "seconds": timer.remaining_s(d.now)}
    if timer.kind == "tray":
        values["batch"], values["tray"] = tray_of(timer.name)
    d.say(key, tone, **{name: values[name] for name in SAYABLE[key]})

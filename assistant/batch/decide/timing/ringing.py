"""What comes by itself: calls before the end, rings, rings again; one after the other, the most urgent first.

Law: nothing is spoken into an open question; what falls due meanwhile waits until it is closed, `question_s`
at most. What is spoken late says so.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.timing.cleaning import call_clean_down
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.announcements import SAYABLE, Tone, Value
from assistant.batch.record.clocks.clock_events import TimerDoubted
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State, Timer
from assistant.batch.record.timer_kinds import LAST_MINUTE_S, TIMER_KINDS, TimerKind, tray_of

LATE_S = 3.0
"""A first ring that comes later than this (s) says by how much."""
LATE_AGAIN_S = 60.0
"""So does every call of what has been up for longer than this (s)."""
OFTEN = 4
"""Calls of a ringing timer after which the pause between them is doubled."""
SELDOM = 8
"""Longest pause between calls, in `ring_every_s`: nobody is nagged for ever."""
GAP_S = 5.0
"""Pause (s) between things that fall due at once: one is said, and may be answered, before the next."""


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
    mentioned = [at for at in (state.crumb_call, state.clean_call) if at is not None]
    return min([*mentioned, *map(_moment, state.timers)], default=None)


def _moment(timer: Timer) -> float:
    """When a timer next has something to say."""
    if timer.ringing:
        return timer.next_call
    return timer.due if timer.warn_at is None else min(timer.warn_at, timer.due)


def due(d: Draft) -> None:
    """Do all that is due by now, unless a question is open.

    A timer that is long overdue calls once, not many times. One thing is said, the most urgent; the others
    follow one by one, `GAP_S` apart.
    """
    if d.state.question is not None:
        return
    said = len(d.announcements)
    groups = _said_at_once(d)
    for place, timers in enumerate(groups, said):
        later = d.now + place * GAP_S if place else None
        if timers[0].ringing:
            _call(d, timers, later)
        elif timers[0].due <= d.now:
            _ring(d, timers, later)
        else:
            _warn(d, timers, later)
    place = said + len(groups)
    if d.state.crumb_call is not None and d.state.crumb_call <= d.now:
        _mention_crumb(d, place)
        place += 1
    if d.state.clean_call is not None and d.state.clean_call <= d.now:
        call_clean_down(d, d.now + place * GAP_S if place else None)


def _said_at_once(d: Draft) -> list[list[Timer]]:
    """What is due by now, the most urgent first; trays of one dough, which has one clock, are one call."""
    groups = dict[tuple[object, ...], list[Timer]]()
    due = sorted((t for t in d.state.timers if _moment(t) <= d.now), key=lambda t: _order(t, d.now))
    for timer in due:
        if timer.kind != "tray":
            groups[(timer.name,)] = [timer]
        elif (key := _dough(timer, d.now)) not in groups:
            same = [t for t in d.state.timers if t.kind == "tray" and _dough(t, d.now) == key]
            groups[key] = same if timer.ringing else [t for t in same if _moment(t) <= d.now]
    return list(groups.values())


def _dough(tray: Timer, now: float) -> tuple[int, bool, bool]:
    """What trays have in common that are called together: their dough, and whether they ring or are up."""
    return (tray_of(tray.name)[0], tray.ringing, tray.due <= now)


def siblings(state: State, timer: Timer) -> tuple[Timer, ...]:
    """The timer, with the trays of the same dough that ring as it does."""
    if timer.kind != "tray":
        return (timer,)
    of = tray_of(timer.name)[0]
    return tuple(t for t in state.ringing if t.kind == "tray" and tray_of(t.name)[0] == of)


def _order(timer: Timer, now: float) -> tuple[bool, int, int, float]:
    """What is up goes before what is only announced; then what called less, so that none is drowned out.

    Then by urgency; then what was due first.
    """
    return (timer.due > now, timer.calls, timer.traits.urgency, _moment(timer))


def lapse(d: Draft) -> None:
    """Close the open question: silence means no.

    One that waits for a value is not mentioned again, nor one whether an addition is in: it is asked again.
    """
    reason = d.state.question.reason if d.state.question else None
    d.happen(ev.QuestionSettled(at=d.now, yes=None))
    if reason not in ("missing", "addition"):
        d.say("entry_stays" if reason in ("differs", "said_wrong") else "lapsed")


def doubt_trays(d: Draft) -> bool:
    """Ring for every tray that may be over after a time off that nobody knows; whether there is one.

    Those of one dough ring together, the doughs one after the other; where an open batch was left is said
    before them.
    """
    groups = dict[int, list[Timer]]()
    for timer in d.state.timers:
        if timer.kind == "tray" and not timer.certain and not timer.ringing:
            groups.setdefault(tray_of(timer.name)[0], []).append(timer)
    for place, trays in enumerate(groups.values(), 0 if d.state.batch is None else 1):
        later = d.now + place * GAP_S if place else None
        for tray in trays:
            next_call = d.now + _pause_s(tray, d.rules) if later is None else later
            d.happen(ev.TimerRang(at=d.now, name=tray.name, next_call=next_call))
        if later is None:
            rung = [tray for tray in d.state.timers if tray.name in {one.name for one in trays}]
            _say_ringing(d, rung, "ring", first=True)
    return bool(groups)


def heard(d: Draft, timer: Timer) -> ev.Event:
    """What it is that a cook heard a timer ring: it is over, but for one that may still run."""
    if is_doubted(timer, d.now):
        return TimerDoubted(at=d.now, name=timer.name)
    return ev.TimerAcknowledged(at=d.now, name=timer.name)


def is_doubted(timer: Timer, now: float) -> bool:
    """Whether a timer rings because it may be over, and not because it is."""
    return timer.ringing and timer.doubtful and timer.due > now


def _mention_crumb(d: Draft, place: int) -> None:
    """Say once that the crumb is ready and nobody extrudes it."""
    late = d.now - (d.state.crumb_call or d.now)
    d.happen(sh.CrumbLeft(at=d.now, again_at=d.now + place * GAP_S if place else None))
    if not place:
        d.say("crumb_left", seconds=d.rules.ready_call_s + late)


def _warn(d: Draft, timers: list[Timer], later: float | None) -> None:
    for timer in timers:
        d.happen(ev.TimerWarned(at=d.now, name=timer.name, again_at=later))
    timer = timers[0]
    if later is not None:
        return
    if timer.kind == "tray" and not timer.certain:
        say_timer(d, timer, timer.traits.left[1])
        return
    if len(timers) > 1:
        _say_trays(d, timers, "trays_warning")
        return
    early = timer.traits.warns_early
    is_early = early is not None and timer.remaining_s(d.now) > LAST_MINUTE_S + LATE_S
    say_timer(d, timer, early if early is not None and is_early else timer.traits.warns)


def _ring(d: Draft, timers: list[Timer], later: float | None) -> None:
    for timer in timers:
        next_call = d.now + _pause_s(timer, d.rules) if later is None else later
        d.happen(ev.TimerRang(at=d.now, name=timer.name, next_call=next_call))
        interval = timer.traits.interval
        if interval is not None and d.state.phase is interval.phase:
            end_phase(d)
    if later is None:
        _say_ringing(d, timers, "ring", first=True)


def _call(d: Draft, timers: list[Timer], later: float | None) -> None:
    calls = max(timer.calls for timer in timers) + (later is None)
    for timer in timers:
        next_call = d.now + _pause_s(timers[0], d.rules) if later is None else later
        d.happen(ev.TimerCalled(at=d.now, name=timer.name, calls=calls, next_call=next_call))
    if later is None:
        _say_ringing(d, timers, "ring_firm" if calls > 2 else "ring", first=False)


def end_phase(d: Draft) -> None:
    """Mixing or resting, whichever it is, is over, and its timer with it unless it rings."""
    mixing = d.state.phase is Phase.MIXING
    d.happen(ev.MixEnded(at=d.now) if mixing else ev.RestEnded(at=d.now))


def _pause_s(timer: Timer, rules: BatchRules) -> float:
    """Between two calls (s); what goes unheard calls less and less often."""
    rarer: int = 2 ** (timer.calls // OFTEN)
    return rules.ring_every_s * max(timer.traits.pause, min(SELDOM, rarer))


def _say_trays(d: Draft, trays: list[Timer], key: str, tone: Tone | None = None) -> None:
    """Announce several trays of one dough at once."""
    values: dict[str, Value] = {
        "count": len(trays),
        "batch": tray_of(trays[0].name)[0],
        "seconds": trays[0].remaining_s(d.now),
        "limit": trays[0].seconds,
        "celsius": d.rules.food.celsius,
    }
    d.say(key, tone, **{name: values[name] for name in SAYABLE[key]})


def _say_ringing(d: Draft, timers: list[Timer], tone: Tone, *, first: bool) -> None:
    """That a timer is up, and since when, where that is long enough ago and known."""
    timer = timers[0]
    doubted = is_doubted(timer, d.now)
    if len(timers) > 1:
        _say_trays(d, timers, "trays_may_be_over" if doubted else "trays_ring", tone)
        return
    traits = timer.traits
    if doubted:
        say_timer(d, timer, "tray_may_be_over", tone)
        return
    tells_prep = first and traits.prep and d.rules.prep_calls and 0 < d.rules.rest_calls_s <= timer.seconds
    late = timer.certain and not tells_prep and d.now - timer.due > (LATE_S if first else LATE_AGAIN_S)
    if traits.interval is not None and d.state.phase is Phase.SQUEEZING:
        key = traits.interval.rings_late if late else traits.interval.rings
        if tells_prep and traits.interval.rings_prep is not None:
            key = traits.interval.rings_prep
        say_timer(d, timer, key, tone)
        return
    say_timer(d, timer, traits.rings_late if late and traits.rings_late else traits.rings, tone)
    if tells_prep:
        d.say("prep_rest_over")


def say_off(d: Draft, timer: Timer, tone: Tone | None = None) -> None:
    """That the cook has heard a timer, and which; one that may still run is not off."""
    say_timer(d, timer, timer.traits.left[1] if is_doubted(timer, d.now) else timer.traits.off, tone)


def say_time_left(d: Draft, timer: Timer) -> None:
    """What is left on a timer, and whether that is certain."""
    certain, unsure = timer.traits.left
    say_timer(d, timer, certain if timer.certain else unsure)


def say_timer(d: Draft, timer: Timer, key: str, tone: Tone | None = None) -> None:
    """Announce something of a timer, with those of its values that the wording may use.

    The seconds are those that are left, or since it is up.
    """
    up = timer.ringing or timer.due <= d.now
    seconds = d.now - timer.due if up else timer.remaining_s(d.now)
    values: dict[str, Value] = {"timer": timer.name, "die": timer.name, "seconds": max(0.0, seconds)}
    if timer.kind == "tray":
        values["batch"], values["tray"] = tray_of(timer.name)
        values["celsius"], values["limit"] = d.rules.food.celsius, timer.seconds
    d.say(key, tone, **{name: values[name] for name in SAYABLE[key]})

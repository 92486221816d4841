"""Time in the batch: mixing, resting, and the kitchen's own timers."""

from collections.abc import Callable

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.additions import ask_addition
from assistant.batch.decide.timing.ringing import (
    end_phase,
    heard,
    rest_calls_at,
    say_off,
    say_time_left,
    siblings,
    warned_at,
)
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Tone
from assistant.batch.record.batch import Batch, Standing
from assistant.batch.record.commands import (
    AddTime,
    GotIt,
    Incomplete,
    Mix,
    Mixer,
    PrepRest,
    Rest,
    SetTimer,
    StopTimer,
)
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import Timer
from assistant.batch.record.timer_kinds import INTERVALS, PREP_NAMES
from assistant.dough.flour import granulation

ALL = "all"
"""Name that stands for every timer."""
LONGEST_S = 24 * 3600.0
"""Longest timer (s)."""


def mix_s(batch: Batch | None, rules: BatchRules) -> float:
    """How long this stage of the batch is mixed (s): by its recipe, else by the kitchen's rules."""
    plan = batch.plan if batch else None
    by_lot = batch is not None and batch.pour_to_pct is not None
    if batch is None or (batch.standing is Standing.SHORT and not batch.held and not by_lot):
        return plan.first_mix_s if plan and plan.first_mix_s else rules.first_mix_s
    if batch.topping:
        return rules.top_up_mix_s
    return plan.target_mix_s if plan and plan.target_mix_s else rules.target_mix_s


def rest_s(batch: Batch | None, rules: BatchRules) -> float:
    """How long the crumb rests (s): by its recipe, else by the kitchen's rules; longer of coarse semolina."""
    usual = (batch.plan.rest_s if batch and batch.plan else None) or rules.rest_s
    return granulation.rest_s(usual, batch.granulation if batch else None)


def start_mix(d: Draft, command: Mix) -> None:
    """Start mixing; the crumb check is called at its end."""
    _mix(d, mix_s(d.state.batch, d.rules) if command.seconds is None else command.seconds)


def start_rest(d: Draft, command: Rest) -> None:
    """Start a rest."""
    _rest(d, rest_s(d.state.batch, d.rules) if command.seconds is None else command.seconds)


def _mix(d: Draft, seconds: float) -> None:
    if not _fits(d, seconds):
        return
    tone = say_over(d, *INTERVALS)
    warn_at = warned_at(d, "mix", seconds)
    d.happen(ev.MixStarted(at=d.now, seconds=seconds, due=d.now + seconds, warn_at=warn_at))
    d.say("mixing_for", tone, seconds=seconds)
    if tone is not None:
        ask_addition(d)


def _rest(d: Draft, seconds: float) -> None:
    if not _fits(d, seconds):
        return
    tone = say_over(d, *INTERVALS)
    calls_at = rest_calls_at(d.now, seconds, d.rules)
    d.happen(ev.RestStarted(at=d.now, seconds=seconds, due=d.now + seconds, calls_at=calls_at))
    d.say("resting_for", tone, seconds=seconds)
    if calls_at and d.rules.prep_calls:
        d.say("prep_rest", seconds=seconds)


def say_over(d: Draft, *names: str) -> Tone | None:
    """Say what is left of the timers of these names that run, for they end now; the tone of what follows."""
    ending = [t for t in d.state.timers if t.name in names and t.remaining_s(d.now) >= 1.0]
    for timer in ending:
        d.say("timer_over", "taken", timer=timer.name, seconds=timer.remaining_s(d.now))
    return None if ending else "taken"


_START: dict[str, Callable[[Draft, float], None]] = {"mix": _mix, "rest": _rest}
"""How a timer of the batch itself is started, by its name."""


def mixer(d: Draft, command: Mixer) -> None:
    """The cook says that the mixer runs or does not: mixing starts, or is over."""
    mixing = d.state.timer("mix")
    if command.on:
        if mixing is not None and not mixing.ringing and d.state.phase is Phase.MIXING:
            say_time_left(d, mixing)
        else:
            start_mix(d, Mix())
        return
    if mixing is not None:
        _end(d, mixing)
    if d.state.phase is Phase.SQUEEZING:
        d.say("squeeze_now", "taken")
    else:
        d.say("mixer_off")


def set_timer(d: Draft, command: SetTimer) -> None:
    """Start a timer of the kitchen's own; one of the same name is replaced."""
    if command.name in _START:
        _START[command.name](d, command.seconds)
        return
    if not _fits(d, command.seconds):
        return
    tone = say_over(d, command.name)
    d.happen(
        ev.TimerSet(
            at=d.now,
            name=command.name,
            seconds=command.seconds,
            due=d.now + command.seconds,
            kind="prep" if command.name in PREP_NAMES else "named",
        )
    )
    d.say("timer_set", tone, timer=command.name, seconds=command.seconds)


def start_prep_rest(d: Draft, command: PrepRest) -> None:
    """Start a rest of the prep team's own, under the first of their names that is free."""
    name = next((one for one in PREP_NAMES if d.state.timer(one) is None), None)
    if name is None:
        d.say("prep_full", count=len(PREP_NAMES))
        return
    set_timer(d, SetTimer(name, command.seconds))


def stop_timer(d: Draft, command: StopTimer) -> None:
    """Stop a timer: the named one, the one that rings, or the only one."""
    if command.name == ALL:
        _stop_all(d)
        return
    timer = _chosen(d, command.name)
    if timer is None:
        return
    _end(d, timer)
    d.say("timer_stopped", "taken", timer=timer.name)


def _stop_all(d: Draft) -> None:
    """Stop every timer that has a name to the cook."""
    timers = [timer for timer in d.state.timers if timer.traits.by_name]
    if not timers:
        d.say("timer_none")
        return
    with d.breath():
        for timer in timers:
            _end(d, timer)
    d.say("timers_stopped", "taken")


def _end(d: Draft, timer: Timer) -> None:
    """The cook ends a timer, whether it rings or still runs."""
    interval = timer.traits.interval
    if timer.ringing:
        d.happen(heard(d, timer))
    elif interval is not None and d.state.phase is interval.phase:
        end_phase(d)
    else:
        d.happen(ev.TimerStopped(at=d.now, name=timer.name))


def add_time(d: Draft, command: AddTime) -> None:
    """Give a timer more time; one that rings starts again with it."""
    timer = _chosen(d, command.name, or_next=True)
    if timer is None or not _fits(d, command.seconds):
        return
    left = timer.remaining_s(d.now) + command.seconds
    if not _fits(d, left):
        return
    if timer.ringing and timer.name in _START:
        _START[timer.name](d, command.seconds)
        return
    warn_at = warned_at(d, timer.kind, left, was=timer.warn_at is not None)
    d.happen(
        ev.TimerExtended(
            at=d.now, name=timer.name, seconds=command.seconds, due=d.now + left, warn_at=warn_at
        )
    )
    d.say("timer_extended", "taken", timer=timer.name, seconds=left)


def got_it(d: Draft, command: GotIt) -> None:
    """Silence what rings: the most urgent, or all of it.

    With nothing to silence it is what kitchens say all day, and not meant for us.
    """
    if not d.state.ringing:
        if d.source != "voice" or d.state.question is not None:
            d.say("nothing_rings")
        return
    silenced = d.state.ringing if command.everything else siblings(d.state, d.state.ringing[0])
    for timer in silenced:
        d.happen(heard(d, timer))
    if len(silenced) > 1:
        d.say("got_it_all", "taken", count=len(silenced))
    else:
        say_off(d, silenced[0], "taken")


def _fits(d: Draft, seconds: float) -> bool:
    """Whether a time can be meant; says so where it can't."""
    if not seconds > 0:
        d.say("amount_zero")
    elif seconds > LONGEST_S:
        d.say("time_too_long", most=LONGEST_S)
    else:
        return True
    return False


def _chosen(d: Draft, name: str | None, *, or_next: bool = False) -> Timer | None:
    """The timer that is meant: the named one, the most urgent that rings, the only one (or the next due)."""
    if name is not None:
        found = d.state.timer(name)
        if found is None:
            d.say("timer_unknown", timer=name)
        return found
    # A tray's clock is not the cook's to lengthen, however it rings; "stop" silences it.
    ringing = [timer for timer in d.state.ringing if timer.traits.by_name or not or_next]
    if ringing:
        return ringing[0]
    timers = [timer for timer in d.state.timers if timer.traits.by_name]
    if len(timers) == 1 or (timers and or_next):
        return min(timers, key=lambda t: t.due)
    if timers:
        d.ask("missing", Incomplete("stop_timer", "number"), "timer_which")
    else:
        d.say("timer_none")
    return None

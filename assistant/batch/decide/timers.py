"""Time in the batch: mixing, resting, and the kitchen's own timers."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.ringing import lead_s, rest_calls_at
from assistant.batch.decide.trays import say_tray
from assistant.batch.record import events as ev
from assistant.batch.record.commands import AddTime, GotIt, Mix, Mixer, Rest, SetTimer, StopTimer
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import HALF_GRAM, MIX, REST, Batch, Timer
from assistant.batch.record.transitions import Phase

LONGEST_S = 24 * 3600.0
"""Longest timer (s)."""


def mix_s(batch: Batch | None, rules: BatchRules) -> float:
    """How long this stage of the batch is mixed (s): by its recipe, else by the house rules."""
    plan = batch.plan if batch else None
    if batch is None or (batch.to_target_g > HALF_GRAM and not batch.held):
        return plan.first_mix_s if plan and plan.first_mix_s else rules.first_mix_s
    if batch.topping:
        return rules.top_up_mix_s
    return plan.target_mix_s if plan and plan.target_mix_s else rules.target_mix_s


def rest_s(batch: Batch | None, rules: BatchRules) -> float:
    """How long the crumb rests (s): by its recipe, else by the house rules."""
    return batch.plan.rest_s if batch and batch.plan and batch.plan.rest_s else rules.rest_s


def start_mix(d: Draft, command: Mix) -> None:
    """Start mixing; the crumb check is called at its end."""
    seconds = mix_s(d.state.batch, d.rules) if command.seconds is None else command.seconds
    if not _fits(d, seconds):
        return
    due = d.now + seconds
    announced = d.state.batch is not None and seconds >= 2 * d.rules.warn_s
    d.happen(ev.MixStarted(d.now, seconds, due, due - d.rules.warn_s if announced else None))
    d.say("mixing_for", "taken", seconds=seconds)


def start_rest(d: Draft, command: Rest) -> None:
    """Start a rest."""
    seconds = rest_s(d.state.batch, d.rules) if command.seconds is None else command.seconds
    if not _fits(d, seconds):
        return
    calls_at = rest_calls_at(d.now, seconds, d.rules)
    d.happen(ev.RestStarted(d.now, seconds, d.now + seconds, calls_at))
    d.say("resting_for", "taken", seconds=seconds)
    if calls_at and d.rules.prep_calls:
        d.say("prep_rest", seconds=seconds)


def mixer(d: Draft, command: Mixer) -> None:
    """The cook says that the mixer runs or stands: mixing starts, or is over."""
    mixing = d.state.timer(MIX)
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
    if command.name == MIX:
        start_mix(d, Mix(command.seconds))
        return
    if command.name == REST:
        start_rest(d, Rest(command.seconds))
        return
    if not _fits(d, command.seconds):
        return
    d.happen(ev.TimerSet(d.now, command.name, command.seconds, d.now + command.seconds))
    d.say("timer_set", "taken", timer=command.name, seconds=command.seconds)


def stop_timer(d: Draft, command: StopTimer) -> None:
    """Stop a timer: the named one, the one that rings, or the only one."""
    timer = _chosen(d, command.name)
    if timer is None:
        return
    _end(d, timer)
    d.say("timer_stopped", "taken", timer=timer.name)


def _end(d: Draft, timer: Timer) -> None:
    """The cook ends a timer, whether it rings or still runs."""
    if timer.ringing:
        d.happen(ev.TimerAcknowledged(d.now, timer.name))
    elif timer.kind == "mix" and d.state.phase is Phase.MIXING:
        d.happen(ev.MixEnded(d.now))
    elif timer.kind == "rest" and d.state.phase is Phase.RESTING:
        d.happen(ev.RestEnded(d.now))
    else:
        d.happen(ev.TimerStopped(d.now, timer.name))


def add_time(d: Draft, command: AddTime) -> None:
    """Give a timer more time; one that rings starts anew with it."""
    timer = _chosen(d, command.name, or_next=True)
    if timer is None or not _fits(d, command.seconds):
        return
    left = timer.remaining_s(d.now) + command.seconds
    if not _fits(d, left):
        return
    if timer.ringing and timer.kind == "mix":
        start_mix(d, Mix(command.seconds))
        return
    if timer.ringing and timer.kind == "rest":
        start_rest(d, Rest(command.seconds))
        return
    lead = lead_s(timer.kind, d.rules)
    announced = timer.warn_at is not None or (
        timer.kind in ("mix", "cook")
        and (timer.kind == "cook" or d.state.batch is not None)
        and left >= 2 * lead
    )
    ends = d.now + left
    warn_at = ends - lead if announced and lead < left else None
    d.happen(ev.TimerExtended(d.now, timer.name, command.seconds, ends, warn_at))
    d.say("timer_extended", "taken", timer=timer.name, seconds=left)


def got_it(d: Draft, _command: GotIt) -> None:
    """Silence all that rings. With nothing to silence it is what kitchens say all day, and not meant for us."""
    if not d.state.ringing:
        if d.source != "voice" or d.state.question is not None:
            d.say("nothing_rings")
        return
    for timer in d.state.ringing:
        d.happen(ev.TimerAcknowledged(d.now, timer.name))
    d.say("got_it")


def say_time_left(d: Draft, timer: Timer) -> None:
    """What is left on a running timer, and whether that is sure."""
    if timer.kind == "tray":
        say_tray(d, timer, "tray_left")
        return
    key = "time_left" if timer.certain else "time_left_unsure"
    d.say(key, timer=timer.name, seconds=timer.remaining_s(d.now))


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
    """The timer that is meant: the named one, the one that rings longest, the only one (or the next due)."""
    # The clock of a tray is no timer of the cook's: it is meant only where it rings.
    timers = [timer for timer in d.state.timers if timer.kind != "tray"]
    if name is not None:
        found = d.state.timer(name)
        if found is None:
            d.say("timer_unknown", timer=name)
        return found
    if d.state.ringing:
        return d.state.ringing[0]
    if len(timers) == 1 or (timers and or_next):
        return min(timers, key=lambda t: t.due)
    d.say("timer_which" if timers else "timer_none")
    return None

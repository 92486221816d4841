"""State and event give the next state. The only place where a state changes; pure."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from assistant.batch.record import events as ev
from assistant.batch.record import shift_evolve
from assistant.batch.record.state import (
    HALF_GRAM,
    INTERVALS,
    MIX,
    REST,
    Batch,
    Entry,
    Question,
    State,
    Timer,
    tray_name,
)
from assistant.batch.record.transitions import EVERYWHERE, IN_A_BATCH, TABLE, Phase, after
from assistant.batch.record.undo import remember, timer_of, withdraw
from assistant.dough.hydration import water_for_g
from assistant.errors import ImpossibleEvent


def replay(events: Iterable[ev.Event]) -> State:
    """State after all events of a journal, oldest first."""
    state = State()
    for event in events:
        state = evolve(state, event)
    return state


def row_of(event: ev.Event) -> str:
    """Row of the transition table that an event stands in."""
    name = type(event).__name__
    return f"{name} {event.verdict}" if isinstance(event, ev.CrumbJudged) else name


def evolve(state: State, event: ev.Event) -> State:
    """Apply one event. Raises ImpossibleEvent where the table forbids it or it contradicts the state."""
    row = row_of(event)
    phase = after(state.phase, row)
    if phase is None:
        raise ImpossibleEvent(f"{row} in phase {state.phase.value}: the table allows it in {_allowed(row)}")
    moved = _APPLY[type(event)](state, event)
    if moved.batch is not None and row in TABLE and moved.batch.phase is not phase:
        moved = replace(moved, batch=replace(moved.batch, phase=phase))
    return remember(state, moved, event)


def _allowed(row: str) -> str:
    """Phases that allow a row, for the error's text."""
    if row in IN_A_BATCH:
        return "every phase but idle"
    if row in EVERYWHERE:
        return "every phase"
    return ", ".join(phase.value for phase in TABLE[row])


def _batch(state: State) -> Batch:
    """The open batch; the table has let only events of a batch through."""
    if state.batch is None:
        raise ImpossibleEvent("an event of a batch without a batch")
    return state.batch


def _opened(state: State, event: ev.BatchOpened) -> State:
    flour = Entry(state.next_entry, "flour", event.flour_g, event.source, event.at)
    batch = Batch(
        number=event.batch,
        opened_at=event.at,
        phase=Phase.POURING,
        entries=(flour,),
        target_pct=event.target_pct,
        low_pct=event.low_pct,
        high_pct=event.high_pct,
        hopper_g=event.hopper_g,
        first_share=event.first_pour_g / water_for_g(event.flour_g, event.target_pct),
        lot=event.lot,
        plan=event.plan,
        planned=event.planned,
    )
    return replace(
        state,
        batch=batch,
        last_batch=event.batch,
        next_entry=state.next_entry + 1,
        next_marks=None,
        next_lot=None,
        next_plan=None,
    )


def _entered(state: State, event: ev.WaterAdded | ev.FlourAdded | ev.ScrapWeighed) -> State:
    batch = _batch(state)
    match event:
        case ev.WaterAdded():
            entry = Entry(event.entry, "water", event.grams, event.source, event.at)
        case ev.FlourAdded():
            entry = Entry(event.entry, "flour", event.grams, event.source, event.at)
        case ev.ScrapWeighed():
            entry = Entry(event.entry, "scrap", event.grams, event.source, event.at)
    if event.entry != state.next_entry:
        raise ImpossibleEvent(f"entry {event.entry}: the next one is {state.next_entry}")
    crumb = batch.crumb if entry.kind == "scrap" else None
    return replace(
        state,
        batch=replace(batch, entries=(*batch.entries, entry), crumb=crumb),
        next_entry=state.next_entry + 1,
    )


def _corrected(state: State, event: ev.EntryCorrected) -> State:
    batch = _batch(state)
    if not any(entry.number == event.entry for entry in batch.entries):
        raise ImpossibleEvent(f"correction of entry {event.entry}: this batch has none of that number")
    entries = tuple(
        replace(entry, grams=event.grams) if entry.number == event.entry else entry for entry in batch.entries
    )
    return replace(state, batch=replace(batch, entries=entries))


def _weighed(state: State, event: ev.EntryWeighed) -> State:
    batch = _batch(state)
    if not any(entry.number == event.entry for entry in batch.entries):
        raise ImpossibleEvent(f"weighing of entry {event.entry}: this batch has none of that number")
    entries = tuple(
        replace(entry, weighed=True) if entry.number == event.entry else entry for entry in batch.entries
    )
    return replace(state, batch=replace(batch, entries=entries))


def _target(state: State, event: ev.TargetSet) -> State:
    marks = (event.target_pct, event.low_pct, event.high_pct)
    if state.batch is None:
        return replace(state, next_marks=marks)
    target, low, high = marks
    return replace(state, batch=replace(state.batch, target_pct=target, low_pct=low, high_pct=high))


def _lot(state: State, event: ev.LotNamed) -> State:
    if state.batch is None:
        return replace(state, next_lot=event.lot)
    batch = state.batch
    share = batch.first_share
    if event.first_pour_g is not None:
        share = event.first_pour_g / water_for_g(batch.flour_g, batch.target_pct)
    return replace(state, batch=replace(batch, lot=event.lot, first_share=share))


def _recipe(state: State, event: ev.RecipeChosen) -> State:
    plan = event.plan
    return replace(state, next_plan=plan, next_marks=(plan.target_pct, plan.low_pct, plan.high_pct))


def _told(state: State, event: ev.ConditionTold) -> State:
    batch = _batch(state)
    others = tuple(one for one in batch.told if one[0] != event.what)
    return replace(state, batch=replace(batch, told=(*others, (event.what, event.value))))


def _judged(state: State, event: ev.CrumbJudged) -> State:
    batch = _batch(state)
    target_in = batch.to_target_g <= HALF_GRAM
    judged = replace(
        batch,
        crumb=event.verdict,
        looked=True,
        topping=event.verdict == "dry" and target_in,
        held=event.verdict == "wet" and (target_in or batch.held),
        squeezes=(*batch.squeezes, (event.verdict, event.hydration_pct)),
    )
    return replace(_intervals_over(state), batch=judged)


def _mixing(state: State, event: ev.MixStarted) -> State:
    return _with_timer(_intervals_over(state), Timer(MIX, "mix", event.seconds, event.due, event.warn_at))


def _resting(state: State, event: ev.RestStarted) -> State:
    return _with_timer(_intervals_over(state), Timer(REST, "rest", event.seconds, event.due, *_calls(event)))


def _calls(event: ev.RestStarted) -> tuple[float | None, tuple[float, ...]]:
    """The first call of a rest before its end, and those after it."""
    return (event.calls_at[0], event.calls_at[1:]) if event.calls_at else (None, ())


def _timer_set(state: State, event: ev.TimerSet) -> State:
    return _with_timer(state, Timer(event.name, event.kind, event.seconds, event.due, event.warn_at))


def _with_timer(state: State, timer: Timer) -> State:
    return replace(state, timers=(*(t for t in state.timers if t.name != timer.name), timer))


def _intervals_over(state: State) -> State:
    return replace(state, timers=tuple(t for t in state.timers if t.name not in INTERVALS))


def _named(state: State, name: str) -> Timer:
    timer = state.timer(name)
    if timer is None:
        raise ImpossibleEvent(f"an event of timer {name!r}: there is none")
    return timer


def _without_timer(state: State, name: str) -> State:
    _named(state, name)
    return replace(state, timers=tuple(t for t in state.timers if t.name != name))


def _extended(state: State, event: ev.TimerExtended) -> State:
    timer = _named(state, event.name)
    more = replace(
        timer,
        due=event.due,
        seconds=timer.seconds + event.seconds,
        warn_at=event.warn_at,
        later=(),
        ringing=False,
        calls=0,
        certain=timer.certain or timer.ringing,
    )
    return _with_timer(state, more)


def _gone(state: State, event: ev.TimerStopped | ev.TimerAcknowledged) -> State:
    return _without_timer(state, event.name)


def _warned(state: State, event: ev.TimerWarned) -> State:
    timer = _named(state, event.name)
    following = timer.later[0] if timer.later else None
    return _with_timer(state, replace(timer, warn_at=following, later=timer.later[1:]))


def _rang(state: State, event: ev.TimerRang) -> State:
    timer = _named(state, event.name)
    ringing = replace(timer, ringing=True, warn_at=None, later=(), calls=1, next_call=event.next_call)
    # What has run its time can't be taken back any more.
    undo = tuple(step for step in state.undo if step.timer != event.name)
    return replace(_with_timer(state, ringing), undo=undo)


def _called(state: State, event: ev.TimerCalled) -> State:
    timer = _named(state, event.name)
    again = replace(timer, calls=event.calls, next_call=event.next_call)
    return _with_timer(state, again)


def _extruding(state: State, _event: ev.ExtrudingStarted) -> State:
    return _intervals_over(state)


def _die(state: State, event: ev.DieNamed) -> State:
    return replace(state, batch=replace(_batch(state), die=event.die, die_warm=False))


def _tray(state: State, event: ev.TrayFilled) -> State:
    filled = replace(state, batch=replace(_batch(state), trays=event.tray))
    if event.due is None:
        return filled
    name = tray_name(event.batch, event.tray)
    return _with_timer(filled, Timer(name, "tray", event.due - event.at, event.due, event.warn_at))


def _portions(state: State, event: ev.PortionsCounted) -> State:
    batch = _batch(state)
    return replace(state, batch=replace(batch, portions=batch.portions + event.count))


def _ended(state: State, event: ev.MixEnded | ev.RestEnded) -> State:
    name = timer_of(event)
    return replace(state, timers=tuple(t for t in state.timers if t.name != name or t.ringing))


def _no_batch(state: State, event: ev.BatchClosed | ev.BatchDropped) -> State:
    made = state.made
    if isinstance(event, ev.BatchClosed) and state.batch is not None and state.batch.planned is not None:
        made = (*made, state.batch.planned)
    return replace(_intervals_over(state), batch=None, made=made)


def _asked(state: State, event: ev.QuestionAsked) -> State:
    if state.question is not None:
        raise ImpossibleEvent("a question was asked: one is open")
    return replace(state, question=Question(event.reason, event.command, event.source, event.expires))


def _settled(state: State, _event: ev.QuestionSettled) -> State:
    if state.question is None:
        raise ImpossibleEvent("a question was settled: none is open")
    return replace(state, question=None)


def _listening(state: State, event: ev.ListeningSet) -> State:
    return replace(state, listening=event.on)


def _loudness(state: State, event: ev.LoudnessSet) -> State:
    return replace(state, loudness=event.steps)


def _pace(state: State, event: ev.PaceSet) -> State:
    return replace(state, pace=event.steps)


def _started(state: State, event: ev.StationStarted) -> State:
    """Move all times to the new boot's clock; a question that was open is settled before."""
    by = event.shift

    def timer(old: Timer) -> Timer:
        return replace(
            old,
            due=old.due + by,
            warn_at=None if old.warn_at is None else old.warn_at + by,
            later=tuple(moment + by for moment in old.later),
            next_call=old.next_call + by,
            certain=old.certain and (event.certain or old.ringing),
        )

    def batch(old: Batch | None) -> Batch | None:
        if old is None:
            return None
        entries = tuple(replace(entry, at=entry.at + by) for entry in old.entries)
        return replace(old, opened_at=old.opened_at + by, entries=entries)

    undo = tuple(
        replace(
            step,
            before=batch(step.before),
            before_timers=tuple(timer(t) for t in step.before_timers),
        )
        for step in state.undo
    )
    return replace(
        state,
        batch=batch(state.batch),
        timers=tuple(timer(t) for t in state.timers),
        walks=tuple(shift_evolve.shifted(walk, by) for walk in state.walks),
        undo=undo,
    )


_APPLY: dict[type[ev.Event], Callable[[State, Any], State]] = {
    ev.BatchOpened: _opened,
    ev.WaterAdded: _entered,
    ev.FlourAdded: _entered,
    ev.ScrapWeighed: _entered,
    ev.EntryCorrected: _corrected,
    ev.EntryWeighed: _weighed,
    ev.Withdrawn: withdraw,
    ev.TargetSet: _target,
    ev.LotNamed: _lot,
    ev.RecipeChosen: _recipe,
    ev.ConditionTold: _told,
    ev.CrumbJudged: _judged,
    ev.MixStarted: _mixing,
    ev.MixEnded: _ended,
    ev.RestStarted: _resting,
    ev.RestEnded: _ended,
    ev.ExtrudingStarted: _extruding,
    ev.DieNamed: _die,
    ev.TrayFilled: _tray,
    ev.PortionsCounted: _portions,
    ev.BatchClosed: _no_batch,
    ev.BatchDropped: _no_batch,
    ev.TimerSet: _timer_set,
    ev.TimerExtended: _extended,
    ev.TimerStopped: _gone,
    ev.TimerAcknowledged: _gone,
    ev.TimerWarned: _warned,
    ev.TimerRang: _rang,
    ev.TimerCalled: _called,
    ev.QuestionAsked: _asked,
    ev.QuestionSettled: _settled,
    ev.ListeningSet: _listening,
    ev.LoudnessSet: _loudness,
    ev.PaceSet: _pace,
    ev.StationStarted: _started,
    **shift_evolve.APPLY,
}

"""How each event of a batch, of time and of the station changes the state. Pure; `transitions` names them.

A phase is moved by the table alone.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol

from assistant.batch.record import events as ev
from assistant.batch.record.batch import Batch, Standing
from assistant.batch.record.evolving.food_clocks import dough_touches
from assistant.batch.record.hopper import hopper_events as hop
from assistant.batch.record.hopper.entries import OUT, Entry, EntryKind
from assistant.batch.record.hopper.leftovers import gluten_of, left_behind_by
from assistant.batch.record.phases import Phase
from assistant.batch.record.press.at_the_die import Reading
from assistant.batch.record.state import Question, State, Timer
from assistant.batch.record.timer_kinds import INTERVALS, tray_name
from assistant.dough.hydration import water_for_g
from assistant.errors import ImpossibleEvent

GLUTEN_KEPT = 50
"""Batches with gluten that are kept, as many as can be taken back; the last alone says what is left."""
EXITS_KEPT = 6
"""Temperatures of the strand that are kept of the batches before."""


def _batch(state: State) -> Batch:
    """The open batch; the table has let only events of a batch through."""
    if state.batch is None:
        raise ImpossibleEvent("an event of a batch without a batch")
    return state.batch


# --- the account


def open_batch(state: State, event: ev.BatchOpened) -> State:
    """A batch with its flour; what was named for the next batch belongs to it now."""
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
        additions_told=event.additions_told,
        granulation=event.granulation,
        die=event.die,
        gluten_free=event.gluten_free,
        carried_over=event.carried_over,
        food=event.food,
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


class _Entered(Protocol):
    """Fields of an event that adds an entry to the account."""

    @property
    def at(self) -> float: ...
    @property
    def entry(self) -> int: ...
    @property
    def grams(self) -> float: ...
    @property
    def source(self) -> ev.Source: ...


def enter(kind: EntryKind) -> Callable[[State, _Entered], State]:
    """One entry of this kind more; water and flour make the verdict on the crumb an old one."""

    def change(state: State, event: _Entered) -> State:
        entry = Entry(event.entry, kind, event.grams, event.source, event.at)
        return _with_one_more(state, entry, stale=kind != "scrap")

    return change


def add_addition(state: State, event: hop.AdditionAdded) -> State:
    """One addition more; the verdict on the crumb is an old one."""
    entry = Entry(event.entry, "addition", event.grams, event.source, event.at)
    entry = replace(entry, name=event.name, water_pct=event.water_pct)
    return _with_one_more(state, entry, stale=True)


def leave_out(state: State, event: hop.AdditionLeftOut) -> State:
    """An addition that is not waited for any more."""
    batch = _batch(state)
    return replace(state, batch=replace(batch, left_out=(*batch.left_out, event.name)))


def take_out(state: State, event: hop.TakenOut) -> State:
    """What is taken out leaves the crumb as it was."""
    entry = Entry(event.entry, OUT[event.what], event.grams, event.source, event.at)
    return _with_one_more(state, entry, stale=False)


def _with_one_more(state: State, entry: Entry, *, stale: bool) -> State:
    """One entry more in the account; `stale`: the verdict on the crumb says nothing of the dough with it."""
    if entry.number != state.next_entry:
        raise ImpossibleEvent(f"entry {entry.number}: the next one is {state.next_entry}")
    batch = _batch(state)
    crumb = None if stale else batch.crumb
    at_die = batch.at_die.stopped() if stale else batch.at_die
    batch = replace(batch, entries=(*batch.entries, entry), crumb=crumb, at_die=at_die)
    return replace(
        state,
        batch=dough_touches(batch, entry.at) if entry.is_wet else batch,
        next_entry=state.next_entry + 1,
    )


def correct(state: State, event: ev.EntryCorrected) -> State:
    """The entry has another mass."""
    return _with_entry(state, event.entry, "correction", lambda entry: replace(entry, grams=event.grams))


def weigh(state: State, event: ev.EntryWeighed) -> State:
    """Both jug and voice have reported the entry."""
    return _with_entry(state, event.entry, "weighing", lambda entry: replace(entry, weighed=True))


def _with_entry(state: State, number: int, what: str, change: Callable[[Entry], Entry]) -> State:
    batch = _batch(state)
    if not any(entry.number == number for entry in batch.entries):
        raise ImpossibleEvent(f"{what} of entry {number}: this batch has none of that number")
    entries = tuple(change(entry) if entry.number == number else entry for entry in batch.entries)
    return replace(state, batch=replace(batch, entries=entries))


def set_target(state: State, event: ev.TargetSet) -> State:
    """Other marks, of this batch or of the next."""
    marks = (event.target_pct, event.low_pct, event.high_pct)
    if state.batch is None:
        return replace(state, next_marks=marks)
    target, low, high = marks
    batch = replace(state.batch, target_pct=target, low_pct=low, high_pct=high, pour_to_pct=None)
    return replace(state, batch=batch)


def name_lot(state: State, event: ev.LotNamed) -> State:
    """The lot of this batch or of the next; the first look at the crumb may move with it."""
    if state.batch is None:
        return replace(state, next_lot=event.lot)
    batch, share = state.batch, state.batch.first_share
    if event.first_pour_g is not None:
        share = event.first_pour_g / water_for_g(batch.flour_g, batch.target_pct)
    if event.gluten_free is not None:
        batch = replace(batch, gluten_free=event.gluten_free, carried_over=event.carried_over)
    # What was asked for went by the lot that it was said to be before.
    named = replace(batch, lot=event.lot, first_share=share, granulation=event.granulation, pour_to_pct=None)
    return replace(state, batch=named)


def choose_recipe(state: State, event: ev.RecipeChosen) -> State:
    """The recipe of the next batch, and its marks."""
    plan = event.plan
    return replace(state, next_plan=plan, next_marks=(plan.target_pct, plan.low_pct, plan.high_pct))


def note_condition(state: State, event: ev.ConditionTold) -> State:
    """A condition of the batch; a later one takes its place."""
    batch = _batch(state)
    others = tuple(one for one in batch.conditions if one[0] != event.what)
    at_die = batch.at_die
    if event.what == "exit":
        at_die = at_die.told(Reading(batch.number, event.at, event.value, batch.die))
    conditions = (*others, (event.what, event.value))
    return replace(state, batch=replace(batch, conditions=conditions, at_die=at_die))


# --- the crumb, the die, the end


def judge(state: State, event: ev.CrumbJudged) -> State:
    """A verdict, with what it says of the water that follows; mixing and resting are over."""
    batch = _batch(state)
    target_in = batch.standing is not Standing.SHORT and not batch.to_come
    judged = replace(
        batch,
        mixed=True,
        crumb=event.verdict,
        looked=True,
        topping=event.verdict == "dry" and (target_in if event.pour_to_pct is None else batch.was_dry),
        held=event.verdict == "wet" and (target_in or batch.held),
        squeezes=(*batch.squeezes, event.squeeze),
        pour_to_pct=event.pour_to_pct,
        at_die=batch.at_die.stopped(),
    )
    return replace(_intervals_over(state), batch=judged, ready_call_at=event.call_at)


def extrude(state: State, event: ev.ExtrudingStarted) -> State:
    """Mixing and resting are over."""
    batch = _batch(state)
    batch = dough_touches(replace(batch, mixed=True, at_die=batch.at_die.stopped()), event.at)
    return replace(_intervals_over(state), batch=batch)


def name_die(state: State, event: ev.DieNamed) -> State:
    """Another die, and a cold one."""
    batch = _batch(state)
    return replace(state, batch=replace(batch, die=event.die, die_warm=False, at_die=batch.at_die.stopped()))


def fill_tray(state: State, event: ev.TrayFilled) -> State:
    """One tray more, with its clock to cold holding."""
    batch = _batch(state)
    batch = replace(batch, trays=event.tray, at_die=batch.at_die.filled(event.at))
    filled = replace(state, batch=dough_touches(batch, event.at))
    if event.due is None:
        return filled
    began = event.at if event.since is None else event.since
    timer = Timer(
        name=tray_name(event.batch, event.tray),
        kind="tray",
        seconds=event.due - began,
        due=event.due,
        warn_at=event.warn_at,
        certain=event.certain,
    )
    if event.next_call is not None:
        timer = replace(timer, ringing=True, calls=1, next_call=event.next_call)
    return _with_timer(filled, timer)


def count_portions(state: State, event: ev.PortionsCounted) -> State:
    """More portions."""
    batch = _batch(state)
    return replace(state, batch=replace(batch, portions=batch.portions + event.count))


def close(state: State, _event: ev.BatchClosed) -> State:
    """No batch is open; its place in the day's plan is made."""
    planned = _batch(state).planned
    return replace(drop(state, None), made=state.made if planned is None else (*state.made, planned))


def drop(state: State, _event: ev.BatchDropped | None) -> State:
    """No batch is open, but what it was made of is remembered; mixing and resting are over.

    Its allergens stay in the machine till that is cleaned.
    """
    batch = _batch(state)
    allergens = left_behind_by(batch.plan, batch.additions)
    behind = (*state.left_behind, (batch.number, allergens)) if allergens else state.left_behind
    gluten = () if batch.gluten_free else gluten_of(batch.plan)
    left = (*state.gluten_left, (batch.number, gluten)) if gluten else state.gluten_left
    return replace(
        _intervals_over(state),
        batch=None,
        made_of=batch.made_of,
        left_behind=behind,
        gluten_left=left[-GLUTEN_KEPT:],
        left_unclean=state.unclean,
        exits_before=state.exits[-EXITS_KEPT:],
        die_before=batch.die or state.die_before,
    )


# --- time


def start_mix(state: State, event: ev.MixStarted) -> State:
    """The mix is timed; a rest is over."""
    batch = state.batch
    if batch is not None:
        batch = dough_touches(replace(batch, mixed=True, at_die=batch.at_die.stopped()), event.at)
    mix = Timer("mix", "mix", event.seconds, event.due, event.warn_at)
    return replace(_with_timer(_intervals_over(state), mix), batch=batch)


def start_rest(state: State, event: ev.RestStarted) -> State:
    """The rest is timed, with its calls; a mix is over."""
    first = event.calls_at[0] if event.calls_at else None
    rest = Timer("rest", "rest", event.seconds, event.due, first, event.calls_at[1:])
    return _with_timer(_intervals_over(state), rest)


def end_interval(name: str) -> Callable[[State, ev.Event], State]:
    """The timer of this name is gone, unless it rings: then somebody has to hear it."""

    def change(state: State, _event: ev.Event) -> State:
        return replace(state, timers=tuple(t for t in state.timers if t.name != name or t.ringing))

    return change


def set_timer(state: State, event: ev.TimerSet) -> State:
    """A timer beside the batch; it replaces one of the same name."""
    return _with_timer(state, Timer(event.name, event.kind, event.seconds, event.due, event.warn_at))


def extend(state: State, event: ev.TimerExtended) -> State:
    """The timer runs on to another time, and does not ring."""
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


def end_timer(state: State, event: ev.TimerStopped | ev.TimerAcknowledged) -> State:
    """The timer is gone."""
    _named(state, event.name)
    return replace(state, timers=tuple(t for t in state.timers if t.name != event.name))


def warn(state: State, event: ev.TimerWarned) -> State:
    """The timer was announced, or that was put off; the next call before its end is the following one."""
    timer = _named(state, event.name)
    if event.again_at is not None:
        return _with_timer(state, replace(timer, warn_at=event.again_at))
    following = timer.later[0] if timer.later else None
    return _with_timer(state, replace(timer, warn_at=following, later=timer.later[1:]))


def ring(state: State, event: ev.TimerRang) -> State:
    """The timer rings; what has run its time can't be taken back any more."""
    ringing = _named(state, event.name).rung(event.at, event.next_call)
    undo = tuple(step for step in state.undo if step.timer != event.name)
    return replace(_with_timer(state, ringing), undo=undo)


def call_again(state: State, event: ev.TimerCalled) -> State:
    """The ringing timer called once more."""
    timer = _named(state, event.name)
    return _with_timer(state, replace(timer, calls=event.calls, next_call=event.next_call))


def _named(state: State, name: str) -> Timer:
    timer = state.timer(name)
    if timer is None:
        raise ImpossibleEvent(f"an event of timer {name!r}: there is none")
    return timer


def _with_timer(state: State, timer: Timer) -> State:
    return replace(state, timers=(*(t for t in state.timers if t.name != timer.name), timer))


def _intervals_over(state: State) -> State:
    return replace(state, timers=tuple(t for t in state.timers if t.name not in INTERVALS))


# --- questions and the station


def ask(state: State, event: ev.QuestionAsked) -> State:
    """A question is open."""
    if state.question is not None:
        raise ImpossibleEvent("a question was asked: one is open")
    return replace(state, question=Question(event.reason, event.command, event.source, event.expires))


def settle(state: State, _event: ev.QuestionSettled) -> State:
    """No question is open."""
    if state.question is None:
        raise ImpossibleEvent("a question was settled: none is open")
    return replace(state, question=None)


def set_listening(state: State, event: ev.ListeningSet) -> State:
    """Commands are acted on, or not."""
    return replace(state, listening=event.on)


def set_loudness(state: State, event: ev.LoudnessSet) -> State:
    """Steps louder or softer."""
    return replace(state, loudness=event.steps)


def set_pace(state: State, event: ev.PaceSet) -> State:
    """Steps faster or slower."""
    return replace(state, pace=event.steps)

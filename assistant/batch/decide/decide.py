"""A request and the state give a decision: events to journal, then announcements to say. Pure.

What a cook asks for and can't have is an announcement. What must not happen at all is ruled out by the table
in `transitions`: it would raise ImpossibleEvent, and is our bug.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from assistant.batch.decide import (
    account,
    answers,
    conditions,
    cooking,
    crumb,
    die,
    flour,
    marks,
    ringing,
    timers,
    trays,
    walks,
)
from assistant.batch.decide.draft import Decision, Draft, Due, Request, Said, Started
from assistant.batch.decide.planned import choose_recipe, next_planned
from assistant.batch.decide.ringing import next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.known import NOTHING, Known
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import HALF_GRAM, Question, State, Undoable
from assistant.dough.amounts import Amount

__all__ = ["Decision", "Due", "Request", "Said", "Started", "decide", "next_due"]

MOST_STEPS = 3
"""Steps of loudness and pace to either side of the settings."""


def decide(state: State, request: Request, now: float, rules: BatchRules, known: Known = NOTHING) -> Decision:
    """Decide on a request at station time `now` (s); `known`: what the kitchen knows of its flour and recipes."""
    draft = Draft(state, now, rules, known=known)
    match request:
        case Due():
            ringing.due(draft)
        case Started():
            _start(draft, request)
        case Said():
            draft.source, draft.text, draft.unsure = request.source, request.text, request.unsure
            _hear(draft, request.command)
    return draft.decision()


def _hear(d: Draft, command: cmd.Command) -> None:
    """Act on a command, with regard to a question that may be open."""
    if not d.state.listening and d.source != "jug" and command != cmd.Listening(on=True):
        return
    if d.state.question is not None and d.state.question.expires <= d.now:
        ringing.lapse(d)
    question = d.state.question
    if isinstance(command, cmd.KnownWeight) or (isinstance(command, cmd.WalkMove) and d.state.walk is None):
        return
    if question is None:
        if not isinstance(command, cmd.Answer):
            _act(d, command)
        return
    if isinstance(command, cmd.Answer):
        _settle(d, question, command)
    elif isinstance(command, cmd.Undo):
        _settle(d, question, cmd.Answer(yes=False))
    elif isinstance(command, _BESIDE_A_QUESTION):
        _act(d, command)
    else:
        d.happen(ev.QuestionSettled(d.now, None))
        if isinstance(command, cmd.MakeThat) and isinstance(question.command, _WITH_AMOUNT):
            # The amount that was asked about is not logged yet: the new one takes its place.
            _act(d, _with_amount(question.command, command.amount))
            return
        if type(command) is not type(question.command):
            # Said again it stands for itself; anything else must not leave the cook thinking that it was logged.
            d.say("not_logged")
        _act(d, command)


_BESIDE_A_QUESTION = (cmd.Ask, cmd.SayAgain, cmd.Loudness, cmd.Pace, cmd.GotIt, cmd.Incomplete)
_WITH_AMOUNT = (cmd.NewBatch, cmd.AddWater, cmd.AddFlour, cmd.Scrap, cmd.MakeThat)


def _with_amount(command: Any, amount: Amount) -> cmd.Command:
    changed: cmd.Command = (
        cmd.NewBatch(amount) if isinstance(command, cmd.NewBatch) else replace(command, amount=amount)
    )
    return changed


def _settle(d: Draft, question: Question, answer: cmd.Answer) -> None:
    """Yes carries out what was asked about, no forgets it; an answer that was badly heard settles nothing."""
    if d.unsure:
        d.say("yes_or_no", "question")
        return
    d.happen(ev.QuestionSettled(d.now, answer.yes))
    if answer.yes:
        d.source, d.confirmed, d.settled = question.source, True, question.reason
        _act(d, question.command)
    else:
        d.say("entry_stays" if question.reason == "differs" else "not_logged")


def _act(d: Draft, command: cmd.Command) -> None:
    """Carry out a command; one that changes something and was badly heard is asked about first."""
    if d.unsure and not d.confirmed and isinstance(command, _ASKED_WHEN_UNSURE):
        d.ask("unsure", command, "ask_unsure", said=d.text)
    else:
        _ACT[type(command)](d, command)


_ASKED_WHEN_UNSURE = (
    cmd.Mix,
    cmd.Rest,
    cmd.SetTimer,
    cmd.StopTimer,
    cmd.AddTime,
    cmd.Mixer,
    cmd.NewDie,
    cmd.TrayDone,
    cmd.Listening,
)
"""Commands that can be carried out as they are; those with conditions of their own ask by themselves."""


def _undo(d: Draft, _command: cmd.Undo) -> None:
    """Take the last thing back by a withdrawal; the record of it stays."""
    if not d.state.undo:
        d.say("nothing_to_undo")
        return
    step = d.state.undo[-1]
    if d.unsure and not d.confirmed:
        d.ask("unsure", cmd.Undo(), "ask_unsure", said=d.text)
        return
    looked_before = d.state.batch is not None and marks.first_look_reached(d.state.batch)
    d.happen(ev.Withdrawn(d.now, step.what, step.grams))
    _say_undone(d, step, looked_before)
    for name in step.touched:
        timer = d.state.timer(name)
        if timer in step.before_timers and timer is not None and timer.due > d.now:
            timers.say_time_left(d, timer)


def _say_undone(d: Draft, step: Undoable, looked_before: bool) -> None:
    """Say what was taken back, and where the account stands without it."""
    batch = d.state.batch
    match step.what:
        case "WaterAdded":
            d.say("undone_water", "taken", grams=step.grams or 0.0)
            marks.say_marks(d, looked_before=looked_before)
        case "FlourAdded":
            d.say("undone_flour", "taken", grams=step.grams or 0.0)
            marks.say_marks(d, looked_before=looked_before, moved=True)
        case "ScrapWeighed":
            d.say("undone_scrap", "taken", grams=step.grams or 0.0)
        case "EntryCorrected":
            d.say("undone_correction", "taken", grams=step.grams or 0.0)
            if step.before is not None and step.before.entries[-1].kind != "scrap":
                marks.say_marks(d, looked_before=looked_before, moved=step.before.entries[-1].kind == "flour")
        case "BatchOpened":
            d.say("undone_opening", "taken")
        case "BatchClosed" | "BatchDropped" if batch is not None:
            d.say("undone_closing", "taken", batch=batch.number)
        case "MixStarted" | "RestStarted" | "TimerSet":
            d.say("undone_timer", "taken", timer=step.timer or "")
        case "CrumbJudged":
            d.say("undone_crumb", "taken")
        case "TargetSet":
            d.say("undone_other", "taken", what="target")
            marks.say_marks(d, looked_before=looked_before, moved=True)
        case _:
            d.say("undone_other", "taken", what=_UNDONE.get(step.what, "other"))


_UNDONE = {
    "LotNamed": "lot",
    "RecipeChosen": "recipe",
    "ConditionTold": "condition",
    "ExtrudingStarted": "extruding",
    "DieNamed": "die",
    "TrayFilled": "tray",
    "TrayChilled": "tray",
    "DieWarmed": "die",
    "PortionsCounted": "portions",
}


def _listen(d: Draft, command: cmd.Listening) -> None:
    """Act on commands, or on none."""
    d.happen(ev.ListeningSet(d.now, command.on))
    d.say("listening_on" if command.on else "listening_off")


def _incomplete(d: Draft, command: cmd.Incomplete) -> None:
    """Ask for what a command lacks; a batch without its flour is the next of the day's plan, where there is one."""
    planned = next_planned(d)
    if (command.command, command.missing) == ("new_batch", "number") and planned is not None:
        if d.state.batch is None:
            choose_recipe(d, planned)
        account.open_batch(d, cmd.NewBatch(Amount(planned.flour_g, exact=True)))
        return
    d.say("number_missing" if command.missing == "number" else "unit_unfit", command=command.command)


def _no_scale(d: Draft, _command: cmd.ZeroJug | cmd.ReadJug | cmd.Calibrate) -> None:
    """The loop asks the scale where there is one."""
    d.say("no_scale")


def _weight(_d: Draft, _command: cmd.KnownWeight) -> None:
    """A weight that the scale did not ask for is talk."""


def _again(d: Draft, _command: cmd.SayAgain) -> None:
    """The voice remembers what it said last; this only asks it to."""
    d.say("say_again")


def _answer(_d: Draft, _command: cmd.Answer) -> None:
    """A yes or no without a question is talk."""


def _voice(d: Draft, command: cmd.Loudness | cmd.Pace) -> None:
    """Speak louder, softer, faster or slower, within what can be understood."""
    if isinstance(command, cmd.Loudness):
        old, key = d.state.loudness, "louder" if command.step > 0 else "softer"
    else:
        old, key = d.state.pace, "faster" if command.step > 0 else "slower"
    new = max(-MOST_STEPS, min(MOST_STEPS, old + command.step))
    if new == old:
        d.say("voice_at_end")
        return
    if isinstance(command, cmd.Loudness):
        d.happen(ev.LoudnessSet(d.now, new))
    else:
        d.happen(ev.PaceSet(d.now, new))
    d.say(key)


def _start(d: Draft, request: Started) -> None:
    """The station came up: say what is still open and what is known of its time."""
    if d.state == State():
        d.say("ready")
        return
    if d.state.question is not None:
        ringing.lapse(d)
    d.happen(ev.StationStarted(d.now, request.shift, request.certain))
    batch = d.state.batch
    if batch is None:
        d.say("ready")
    elif batch.to_target_g >= -HALF_GRAM:
        d.say("batch_resumed", batch=batch.number, water=batch.water_g, left=max(0.0, batch.to_target_g))
    else:
        d.say("batch_resumed_over", batch=batch.number, water=batch.water_g, over=-batch.to_target_g)
    unsure = [t for t in d.state.timers if not t.certain and not t.ringing]
    for timer in unsure:
        if timer.kind != "tray":
            timers.say_time_left(d, timer)
    if any(timer.kind == "tray" for timer in unsure):
        d.say("trays_unsure")
    if d.state.walk is not None:
        walks.say_resumed(d)
    if not d.state.listening:
        d.say("listening_off")


_ACT: dict[type[cmd.Command], Callable[[Draft, Any], None]] = {
    cmd.NewBatch: account.open_batch,
    cmd.SetTarget: account.set_target,
    cmd.SetLot: flour.name_lot,
    cmd.UseRecipe: flour.use_recipe,
    cmd.TellCondition: conditions.tell,
    cmd.AddWater: account.add_water,
    cmd.PourRest: account.pour_rest,
    cmd.AddFlour: account.add_flour,
    cmd.MakeThat: account.correct,
    cmd.Undo: _undo,
    cmd.JudgeCrumb: crumb.judge,
    cmd.CloseBatch: crumb.close,
    cmd.DropBatch: crumb.close,
    cmd.Ask: answers.answer,
    cmd.SayAgain: _again,
    cmd.Mix: timers.start_mix,
    cmd.Rest: timers.start_rest,
    cmd.SetTimer: timers.set_timer,
    cmd.StopTimer: timers.stop_timer,
    cmd.AddTime: timers.add_time,
    cmd.GotIt: timers.got_it,
    cmd.Mixer: timers.mixer,
    cmd.Extruding: crumb.extrude,
    cmd.NewDie: crumb.name_die,
    cmd.Scrap: account.weigh_scrap,
    cmd.TrayDone: trays.fill,
    cmd.Portions: crumb.count_portions,
    cmd.Loudness: _voice,
    cmd.Pace: _voice,
    cmd.Listening: _listen,
    cmd.ZeroJug: _no_scale,
    cmd.ReadJug: _no_scale,
    cmd.Calibrate: _no_scale,
    cmd.KnownWeight: _weight,
    cmd.Incomplete: _incomplete,
    cmd.Answer: _answer,
    cmd.Walk: walks.begin,
    cmd.WalkMove: walks.move,
    cmd.DieWarm: die.warm,
    cmd.TrayCold: trays.chill,
    cmd.Cook: cooking.cook,
    cmd.Cutter: die.cutter,
}

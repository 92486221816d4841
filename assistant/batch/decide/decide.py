"""A request and the state give a decision: events to journal, then announcements to say. Pure.

What a cook asks for and can't have is an announcement. What must not happen at all is ruled out by the table
in `transitions`: it would raise ImpossibleEvent, and is our bug.
"""

from dataclasses import fields, replace

from assistant.batch.decide import walks
from assistant.batch.decide.draft import Decision, Draft, Due, Request, Said, Started
from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.decide.timing import ringing
from assistant.batch.decide.timing.ringing import next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import HALF_GRAM, Question, State
from assistant.dough.amounts import Amount

__all__ = ["Decision", "Due", "Request", "Said", "Started", "decide", "next_due"]


def decide(state: State, request: Request, now: float, rules: BatchRules, known: Known = NOTHING) -> Decision:
    """Decide on a request at station time `now` (s); `known`: what the kitchen knows of flour and recipes."""
    draft = Draft(state, now, rules, known)
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
    if HANDLERS[type(command)].is_talk(d.state):
        return
    if question is None or HANDLERS[type(command)].beside_a_question(d, command):
        _act(d, command)
    elif isinstance(command, cmd.Answer):
        _settle(d, question, yes=command.yes)
    elif isinstance(command, cmd.Undo):
        _settle(d, question, yes=False)
    else:
        _give_up(d, question, command)


def _act(d: Draft, command: cmd.Command) -> None:
    """Carry out a command as its row says.

    One that changes something and was badly heard is asked about first.
    """
    handler = HANDLERS[type(command)]
    if handler.needs_batch and d.state.batch is None:
        if d.source != "jug":
            d.say("no_batch")
    elif handler.answered is not None and handler.answered(d, command):
        return
    elif d.doubtful and handler.when_unsure == "ask":
        d.ask("unsure", command, "ask_unsure", said=d.text)
    else:
        handler.act(d, command)


def _settle(d: Draft, question: Question, *, yes: bool) -> None:
    """Yes carries out what was asked about, no forgets it; an answer that was badly heard settles nothing."""
    if d.unsure:
        d.say("yes_or_no", "question")
        return
    d.happen(ev.QuestionSettled(at=d.now, yes=yes))
    if yes:
        d.source, d.confirmed, d.settled = question.source, True, question.reason
        _act(d, question.command)
    else:
        d.say("entry_stays" if question.reason == "differs" else "not_logged")


def _give_up(d: Draft, question: Question, command: cmd.Command) -> None:
    """Close the question, for another command takes its place."""
    d.happen(ev.QuestionSettled(at=d.now, yes=None))
    if isinstance(command, cmd.MakeThat) and (name := _amount_field(question.command)) is not None:
        # The amount that was asked about is not logged yet: the new one takes its place.
        amount: dict[str, object] = {name: command.amount}
        _act(d, replace(question.command, **amount))  # type: ignore[arg-type]
        return
    if type(command) is not type(question.command):
        # The same command said again answers itself; any other must not pass for a yes.
        d.say("not_logged")
    _act(d, command)


def _amount_field(command: cmd.Command) -> str | None:
    """Name of the field with a command's amount; None if it has none."""
    return next((one.name for one in fields(command) if isinstance(getattr(command, one.name), Amount)), None)


def _start(d: Draft, request: Started) -> None:
    """The station came up: say what is still open and what is known of its time."""
    if d.state == State():
        d.say("ready")
        return
    if d.state.question is not None:
        ringing.lapse(d)
    d.happen(ev.StationStarted(at=d.now, shift=request.shift, certain=request.certain))
    batch = d.state.batch
    if batch is None:
        d.say("ready")
    elif batch.to_target_g >= -HALF_GRAM:
        d.say("batch_resumed", batch=batch.number, water=batch.water_g, left=max(0.0, batch.to_target_g))
    else:
        d.say("batch_resumed_over", batch=batch.number, water=batch.water_g, over=-batch.to_target_g)
    unsure = [timer for timer in d.state.timers if not timer.certain and not timer.ringing]
    for timer in unsure:
        if timer.traits.resumed is None:
            ringing.say_time_left(d, timer)
    for key in dict.fromkeys(timer.traits.resumed for timer in unsure):
        if key is not None:
            d.say(key)
    if d.state.walk is not None:
        walks.say_resumed(d)
    if not d.state.listening:
        d.say("listening_off")

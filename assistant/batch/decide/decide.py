"""A request and the state give a decision: events to journal, then announcements to say. Pure.

What a cook asks for and can't have is an announcement. What must not happen at all is ruled out by the table
in `transitions`: it would raise ImpossibleEvent, and is our bug.
"""

from assistant.batch.decide import printing, slots
from assistant.batch.decide.answers import say_next, say_wanted, slot_is_open
from assistant.batch.decide.draft import ClockSet, Decision, Draft, Due, Printed, Request, Said, Started
from assistant.batch.decide.handlers import HANDLERS
from assistant.batch.decide.making import crumb
from assistant.batch.decide.said_wrong import said_in_full
from assistant.batch.decide.station_commands import say_undone
from assistant.batch.decide.timing import restarting, ringing
from assistant.batch.decide.timing.ringing import next_due
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import Question, State
from assistant.ports import Asking

__all__ = ["ClockSet", "Decision", "Due", "Printed", "Request", "Said", "Started", "decide", "next_due"]


def decide(state: State, request: Request, now: float, rules: BatchRules, known: Known = NOTHING) -> Decision:
    """Decide on a request at station time `now` (s); `known`: what the kitchen knows of flour and recipes."""
    draft = Draft(state, now, rules, known)
    match request:
        case Due():
            if _is_over(draft):
                _lapse(draft)
            ringing.due(draft)
        case Started():
            restarting.start(draft, request)
        case ClockSet():
            restarting.set_clock(draft, request)
        case Printed():
            printing.ended(draft, request)
        case Said():
            draft.source, draft.text = request.source, request.text
            draft.unsure, draft.twin_near = request.unsure, request.twin_near
            draft.guessed, draft.again = request.guessed, request.again
            _hear(draft, request.command)
    return draft.decision()


_HEARD_ALWAYS = ("jug", "screen")
"""Sources that go on with listening off: that is of the ear."""


def _hear(d: Draft, command: cmd.Command) -> None:
    """Act on a command, with regard to a question that may be open."""
    if HANDLERS[type(command)].always:
        _act(d, command)
        return
    if not d.state.listening and d.source not in _HEARD_ALWAYS and command != cmd.Listening(on=True):
        return
    if _is_over(d):
        _lapse(d)
    question = d.state.question
    # What the jug saw is a pour, whatever was asked.
    meant = command if d.source == "jug" else slots.as_given(d.state, command, d.now)
    command = _what_cancel_means(d, meant)
    if type(command) in slots.GIVEN:
        _give(d, command)
        return
    if command == cmd.Answer(yes=False) and question is None and _ask_what_was_meant(d):
        return
    if not isinstance(command, cmd.Together) and HANDLERS[type(command)].is_talk(d.state):
        return
    if question is None or HANDLERS[type(command)].beside_a_question(d, command):
        _act(d, command)
    elif isinstance(command, cmd.Answer):
        _settle(d, question, yes=command.yes)
    elif question.reason == slots.SAID_WRONG:
        _go_on(d, question, command)
    elif isinstance(command, cmd.Undo) and question.reason != "addition":
        _settle(d, question, yes=False)
    else:
        _give_up(d, question, command)


def _act(d: Draft, command: cmd.Command) -> None:
    """Carry out a command as its row says.

    One that changes something and was badly heard is asked about first, one that was guessed in any case.
    """
    if isinstance(command, cmd.Together):
        with d.breath():
            _act_in_turn(d, command)
        return
    handler = HANDLERS[type(command)]
    if handler.needs_batch and d.state.batch is None:
        if d.source != "jug":
            d.say("no_batch")
    elif handler.answered is not None and handler.answered(d, command):
        return
    elif d.doubtful and (handler.when_unsure == "ask" or (d.guessed and not handler.always)):
        d.ask_whether_meant(command)
    else:
        handler.act(d, command)


def _act_answered(d: Draft, question: Question, command: cmd.Command) -> None:
    """Carry out what an answer means.

    An addition was asked for by the station: what waited for the answer is a breath of its own, so that
    taking a verdict back leaves what is in.
    """
    if question.reason == "addition" and isinstance(command, cmd.Together):
        _act_in_turn(d, command)
    else:
        _act(d, command)


def _act_in_turn(d: Draft, together: cmd.Together) -> None:
    """Carry out commands of one breath, one after the other.

    Where one comes to nothing, the rest does too.
    """
    first, *rest = together.commands
    if d.doubtful:
        d.ask_whether_meant(together)
        return
    happened = len(d.events)
    d.then = tuple(rest)
    _act(d, first)
    d.then = ()
    if rest and d.state.question is None and len(d.events) > happened:
        d.confirmed, d.settled, d.contrasted = False, None, False
        _act(d, cmd.Together(tuple(rest)))


def _settle(d: Draft, question: Question, *, yes: bool) -> None:
    """Yes carries out what was asked about, no forgets it; an answer that was badly heard settles nothing."""
    if d.unsure or (yes and slot_is_open(question)):
        say_wanted(d, question)
        return
    d.happen(ev.QuestionSettled(at=d.now, yes=yes))
    command = question.command
    if yes:
        d.source, d.settled = question.source, question.reason
        # That two commands were heard rightly says nothing of what they do.
        d.confirmed = question.reason != "unsure" or not isinstance(command, cmd.Together)
        _act_answered(d, question, command)
        return
    if question.reason == "addition":
        _without_addition(d, question)
        return
    d.say(_NO.get(question.reason, "not_logged"))
    if question.reason == "differs" and isinstance(command, cmd.Together):
        _act_in_turn(d, cmd.Together(command.commands[1:]))


_NO: dict[str, str] = {
    "differs": "entry_stays",
    "unmixed": "taken_out_of_what",
    "print": "print_stays",
    slots.SAID_WRONG: "entry_stays",
}
"""Reason of a question -> what a no is answered with; of any other: that nothing is logged."""


def _is_over(d: Draft) -> bool:
    """Whether a question is open that silence has answered by now."""
    return d.state.question is not None and d.state.question.expires <= d.now


def _lapse(d: Draft) -> None:
    """Silence means no. A verdict that waited behind a question about an addition counts without it.

    Nothing else that waited there is carried out, nor a verdict that would be asked about again.
    """
    question = d.state.question
    ringing.lapse(d)
    if question is None or question.reason != "addition" or not (behind := question.behind):
        return
    if isinstance(behind[0], cmd.JudgeCrumb) and not crumb.is_ready_far_off(d, behind[0]):
        _without_addition(d, question)
    else:
        d.say("lapsed")


def _without_addition(d: Draft, question: Question) -> None:
    """An addition is not in yet: carry out what waited for the answer, else say the next step."""
    behind = question.behind
    source, unsure, d.unsure = d.source, d.unsure, False
    d.source, d.not_in_yet = question.source, True
    if behind:
        _act_in_turn(d, cmd.Together(behind))
    else:
        d.say("addition_not_in")
        say_next(d)
    d.source, d.unsure, d.not_in_yet = source, unsure, False


def _instead_of_answering(d: Draft, question: Question, command: cmd.Command) -> None:
    """Another command than an answer to whether an addition is in.

    A verdict that waited for the answer counts all the same, unless this replaces it or takes it back. What
    it would lead to is not said: the cook has gone on.
    """
    behind = question.behind
    if isinstance(command, cmd.AddAddition | cmd.LeaveOut):
        _act_answered(d, question, cmd.Together((command, *behind)) if behind else command)
        return
    if behind and isinstance(command, cmd.Undo):
        d.say("not_logged")
        return
    if behind and type(behind[0]) is not type(command):
        if isinstance(behind[0], cmd.JudgeCrumb):
            said = len(d.announcements)
            _without_addition(d, question)
            del d.announcements[said:]
        else:
            d.say("not_logged")
    if d.state.question is not None:
        _give_up(d, d.state.question, command)
    else:
        _act(d, command)


def _give(d: Draft, given: cmd.Command) -> None:
    """A bare value: it answers the open question, or corrects what was just read back; else it is talk."""
    meant = slots.meant_by(d.state, given, d.now, d.rules)
    question = d.state.question
    if meant is None:
        return
    if question is None:
        _correct(d, meant)
        return
    if meant.corrects:
        _close_and_correct(d, question, meant)
        return
    if meant.same:
        _settle(d, question, yes=True)
        return
    d.happen(ev.QuestionSettled(at=d.now, yes=True if slot_is_open(question) else None))
    d.contrasted = meant.contrasted
    _act_answered(d, question, meant.command)


def _what_cancel_means(d: Draft, command: cmd.Command) -> cmd.Command:
    """A bare "cancel" as what it takes away now, the nearest first; any other command as it is."""
    question = d.state.question
    if command != cmd.Cancel():
        return command
    if question is not None and question.reason != slots.SAID_WRONG:
        return cmd.Answer(yes=False)
    if question is None and d.state.walk is not None:
        return cmd.WalkMove("leave")
    just_said = question is not None or slots.read_back(d.state, d.now, d.rules) is not None
    return cmd.Undo() if just_said else command


def _ask_what_was_meant(d: Draft) -> bool:
    """Whether a bare no calls wrong what was just read back: then it is asked what it should be."""
    step = slots.read_back(d.state, d.now, d.rules)
    if step is None:
        return False
    says = slots.READ_BACK[step.what].says
    d.ask(slots.SAID_WRONG, cmd.Incomplete(says, "number"), "what_then", command=says)
    return True


def _go_on(d: Draft, question: Question, command: cmd.Command) -> None:
    """A whole command where it was asked what was meant: that, or the cook leaves it and goes on."""
    meant = None if d.source == "jug" else said_in_full(d.state, question, command, d.rules)
    if meant is not None:
        _close_and_correct(d, question, meant)
        return
    d.happen(ev.QuestionSettled(at=d.now, yes=None))
    if d.source != "jug" and not isinstance(command, cmd.Undo | cmd.MakeThat):
        d.say("entry_stays")
    _act(d, command)


def _close_and_correct(d: Draft, question: Question, meant: slots.Meant) -> None:
    """Correct what was read back while a question is open; one about just that stays where it can't be."""
    wrong = question.reason == slots.SAID_WRONG
    if wrong and d.unsure and meant.withdraws:
        say_wanted(d, question)
        return
    d.happen(ev.QuestionSettled(at=d.now, yes=None))
    if wrong and meant.same:
        d.say("entry_stays")
    else:
        _correct(d, meant)


def _correct(d: Draft, meant: slots.Meant) -> None:
    """Put the value in the place of the one that was just read back; what can't be meant changes nothing."""
    if meant.same or (d.unsure and meant.withdraws):
        d.say("say_again")
        return
    d.contrasted = meant.contrasted
    state, events = d.state, len(d.events)
    if meant.withdraws:
        step = d.state.undo[-1]
        d.happen(ev.Withdrawn(at=d.now, what=step.what, grams=step.grams))
        if meant.instead:
            say_undone(d, step)
    withdrawn = len(d.events)
    _act(d, meant.command)
    if len(d.events) == withdrawn:
        d.state = state
        del d.events[events:]


def _give_up(d: Draft, question: Question, command: cmd.Command) -> None:
    """Close the question, for another command takes its place."""
    for_it = isinstance(command, cmd.MakeThat) and not slots.is_of_the_last_entry(
        d.state, command.amount, d.rules
    )
    d.happen(ev.QuestionSettled(at=d.now, yes=None))
    slot = slots.slot_of(question.command)
    if question.reason == "addition" and not for_it:
        _instead_of_answering(d, question, command)
        return
    if isinstance(command, cmd.MakeThat) and slot is not None and slot.asking is Asking.AMOUNT:
        # The amount that was asked about is not logged yet: the new one takes its place.
        _act_answered(d, question, slots.filled(question.command, slot, command.amount))
        return
    if slots.kind_of(command) is not slots.kind_of(question.command) and question.reason != "missing":
        # The same command said again answers itself; any other must not pass for a yes.
        d.say("not_logged")
    _act(d, command)

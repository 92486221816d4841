"""The station came up after a power cut, or learned later how long it was off.

Until that is known a tray may be past its time: it rings as one that may be over, and goes on to run. A cook
who reads a clock knows more than the station does.
"""

from assistant.batch.decide import walks
from assistant.batch.decide.draft import ClockSet, Draft, Started
from assistant.batch.decide.timing import ringing
from assistant.batch.record import events as ev
from assistant.batch.record.batch import HALF_GRAM, Batch
from assistant.batch.record.clocks.clock_events import TimeOffKnown
from assistant.batch.record.printing.print_jobs import kept
from assistant.batch.record.state import State


def start(d: Draft, request: Started) -> None:
    """The station came up: say what is still open and what is known of its time."""
    if d.state == State():
        d.say("ready")
        return
    if d.state.question is not None:
        waits = d.state.question.reason == "addition" and d.state.question.behind
        ringing.lapse(d)
        if waits:
            # What waited behind it was said before the power cut: that it is not logged has to be known.
            d.say("lapsed")
    d.happen(ev.StationStarted(at=d.now, shift=request.shift, certain=request.certain, known=request.known))
    batch = d.state.batch
    if batch is None:
        d.say("ready")
    else:
        _say_resumed(d, batch)
    if request.certain or not ringing.doubt_trays(d):
        _say_unsure(d, certain=request.certain)
    if d.state.walk is not None:
        walks.say_resumed(d)
    if (count := len(kept(d.state.prints))) > 0:
        d.say("print_waits", count=count)
    if not d.state.listening:
        d.say("listening_off")


def _say_resumed(d: Draft, batch: Batch) -> None:
    """Where the open batch was left."""
    left = batch.left_g
    if left >= -HALF_GRAM:
        d.say("batch_resumed", batch=batch.number, water=batch.water_g, left=max(0.0, left))
    else:
        d.say("batch_resumed_over", batch=batch.number, water=batch.water_g, over=-left)


def _say_unsure(d: Draft, *, certain: bool) -> None:
    """After a power cut of unknown length: what is left of the only timer, or that none is sure.

    The clocks of food safety have no timer of their own until a tray is done.
    """
    unsure = [timer for timer in d.state.timers if not timer.certain and not timer.ringing]
    if len(unsure) == 1:
        ringing.say_time_left(d, unsure[0])
    elif unsure or (not certain and d.state.unclean is not None):
        d.say("times_unsure")


def set_clock(d: Draft, request: ClockSet) -> None:
    """How long the station was off is known: what runs is right from now on, and what is left is said.

    What is up by it rings by itself.
    """
    unsure = [timer.name for timer in d.state.timers if not timer.certain]
    asked = bool(unsure) or d.state.batch is not None or d.state.unclean is not None
    time_off = d.state.time_off
    if time_off is None:
        return
    d.happen(
        TimeOffKnown(
            at=d.now,
            off=request.off,
            since=time_off.since,
            wholly=time_off.again is None,
            told=request.told,
        )
    )
    if not asked:
        return
    d.say("time_off_known", "taken", seconds=request.off)
    left = [timer for timer in d.state.timers if timer.name in unsure and timer.due > d.now]
    if left:
        ringing.say_time_left(d, min(left, key=lambda timer: timer.due))

"""The station came up after a power cut, or learned later how long it was off.

Until that is known a tray may be past its time: it rings as one that may be over, and goes on to run. A cook
who reads a clock knows more than the station does.
"""

from assistant.batch.decide import walks
from assistant.batch.decide.draft import ClockSet, Draft, Started
from assistant.batch.decide.timing import ringing
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Value
from assistant.batch.record.batch import HALF_GRAM, Batch
from assistant.batch.record.clocks.clock_events import TimeOffKnown, TimeTold
from assistant.batch.record.commands import ClockTold
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


def time_is_known(d: Draft, command: ClockTold) -> bool:
    """Whether nobody needs to tell the time: then it is talk, and left alone."""
    return _read(d, command) is None


def tell_time(d: Draft, command: ClockTold) -> None:
    """The cook tells the time: it is asked about where it was heard, for what food had of it hangs on it."""
    wall = _read(d, command)
    if wall is None:
        return
    values: dict[str, Value] = {
        "side": _SIDES.get(command.minute, "past" if command.minute > 0 else "to"),
        "hour": command.hour,
        "minute": abs(command.minute),
    }
    if d.source != "keyboard" and not d.confirmed:
        d.ask("unsure", command, "ask_clock", **values)
        return
    d.happen(TimeTold(at=d.now, wall=wall, hour=command.hour, minute=command.minute))
    d.say("clock_told", "taken", **values)
    if d.state.time_off is not None:
        set_clock(d, ClockSet(max(0.0, d.state.time_off.length_s(d.now, wall)), told=True))


_SIDES = {0: "hour", 15: "quarter_past", 30: "half", -15: "quarter_to"}


def _read(d: Draft, command: ClockTold) -> float | None:
    """The wall time that is told (s since 1970); None: nobody needs to tell."""
    time_off = d.state.time_off
    after = None if time_off is None else time_off.known.wall + d.now - time_off.known.at
    return d.known.read_time(command.hour, command.minute, after)


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
    if not request.told:
        d.say("time_off_known", "taken", seconds=request.off)
    left = [timer for timer in d.state.timers if timer.name in unsure and timer.due > d.now]
    if left:
        ringing.say_time_left(d, min(left, key=lambda timer: timer.due))

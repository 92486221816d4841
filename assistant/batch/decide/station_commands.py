"""What the cook asks of the station itself: taking something back, how to speak, whether to listen."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making import marks
from assistant.batch.decide.timing.ringing import say_time_left
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.announcements import SAYABLE, Value
from assistant.batch.record.batch import Batch
from assistant.batch.record.evolving.transitions import EVENTS, TABLE
from assistant.batch.record.state import Timer, Undoable

MOST_STEPS = 3
"""Steps of loudness and pace to either side of the settings."""

STOPPED = ("TimerStopped", "MixEnded", "RestEnded")
"""Steps by which a timer was stopped."""


def nothing_to_undo(d: Draft, _command: cmd.Undo) -> bool:
    """Whether there is nothing to take back; says so."""
    if d.state.undo:
        return False
    d.say("nothing_to_undo")
    return True


def undo(d: Draft, _command: cmd.Undo) -> None:
    """Take the last thing back by a withdrawal, and all of its breath; the record of it stays."""
    before = d.state.batch
    steps = [_take_back(d)]
    while steps[-1].joined and d.state.undo:
        steps.append(_take_back(d))
    again = [timer for step in steps for timer in _running_again(d, step)]
    if len(again) > 1 and all(step.what in STOPPED for step in steps):
        d.say("timers_again", "taken", count=len(again))
        again = [min(again, key=lambda timer: timer.due)]
    else:
        for step in steps:
            say_undone(d, step)
    _say_moved_marks(d, before, d.state.batch)
    for timer in again:
        say_time_left(d, timer)


def _take_back(d: Draft) -> Undoable:
    """Take the last step back."""
    step = d.state.undo[-1]
    d.happen(ev.Withdrawn(at=d.now, what=step.what, grams=step.grams))
    return step


def _running_again(d: Draft, step: Undoable) -> list[Timer]:
    """Timers that run once a step is taken back, and did not before."""
    found = [d.state.timer(name) for name in step.touched]
    return [one for one in found if one is not None and one in step.before_timers and one.due > d.now]


def say_undone(d: Draft, step: Undoable) -> None:
    """Say what was taken back, with those of its values that the wording may use."""
    undone = TABLE[EVENTS[step.what]].undone
    if undone is None:
        return
    values: dict[str, Value] = {
        "what": undone.what,
        "grams": step.grams or 0.0,
        "timer": step.timer or "",
        "batch": d.state.last_batch,
    }
    d.say(undone.says, "taken", **{name: values[name] for name in SAYABLE[undone.says]})


def _say_moved_marks(d: Draft, before: Batch | None, after: Batch | None) -> None:
    """Say where the account is, if water, flour or target are other ones now."""
    if before is None or after is None or before.number != after.number:
        return
    moved = (before.flour_g, before.target_pct) != (after.flour_g, after.target_pct)
    if moved or before.water_g != after.water_g:
        marks.say_marks(d, looked_before=marks.first_look_reached(before), moved=moved)


def who_cooks(d: Draft, command: cmd.WhoCooks) -> bool:
    """Whether it is asked who cooks, or the one who is named does already; says who it is."""
    cooks = d.state.cook or d.rules.cook
    if command.cook not in (None, cooks):
        return False
    if cooks:
        d.say("who_cooks", cook=cooks)
    else:
        d.say("nobody_cooks")
    return True


def name_cook(d: Draft, command: cmd.WhoCooks) -> None:
    """Somebody cooks from now on; the voice that it is fitted to follows at the next start."""
    if command.cook is None:
        return
    d.happen(sh.CookNamed(at=d.now, cook=command.cook))
    kept = command.cook in d.known.voices
    d.say("cook_named_voice" if kept else "cook_named", "taken", cook=command.cook)


def say_what_can_be_cancelled(d: Draft, _command: cmd.Cancel) -> None:
    """Nothing is open to be cancelled; badly heard it is left alone, for kitchens say it of much else."""
    if d.unsure:
        return
    if d.state.undo or any(timer.traits.by_name for timer in d.state.timers):
        d.say("cancel_which")
    else:
        d.say("nothing_to_undo")


def say_again(d: Draft, _command: cmd.SayAgain) -> None:
    """The voice remembers what it said last; this only asks it to repeat that."""
    d.say("say_again")


def say_who_switches(d: Draft, _command: cmd.MachineQuestion) -> None:
    """The station stops no machine and knows of none whether it is off; nothing happens by asking.

    Who asks may be in need: nothing is said before it, and nothing behind it.
    """
    d.say("you_switch")


def adjust_voice(d: Draft, command: cmd.Loudness | cmd.Pace) -> None:
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
        d.happen(ev.LoudnessSet(at=d.now, steps=new))
    else:
        d.happen(ev.PaceSet(at=d.now, steps=new))
    d.say(key)


def set_listening(d: Draft, command: cmd.Listening) -> None:
    """Act on commands, or on none."""
    d.happen(ev.ListeningSet(at=d.now, on=command.on))
    d.say("listening_on" if command.on else "listening_off")


def practise(d: Draft, command: cmd.Practice) -> None:
    """Say whether practice can begin: beside an open batch nobody could tell one from the other.

    Nothing happens by it; the practice itself is the station's, outside of what is recorded.
    """
    if not command.on:
        d.say("practice_none")
    elif d.state.batch is not None:
        d.say("practice_refused", batch=d.state.batch.number)
    else:
        d.say("practice_begun")


def no_scale(d: Draft, _command: cmd.ZeroJug | cmd.ReadJug | cmd.Calibrate) -> None:
    """There is no jug scale: where there is one it answers itself."""
    d.say("no_scale")

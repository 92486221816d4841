"""What comes out of the die, and after it: die, cutter, trays, portions, and a shape in the water.

Trays: how cold and how soon is in `food_rules`; a tray has what is left of its dough's time since the first
wet contact. Cool before covering, a dry cloth meanwhile: common practice, no source. Local code counts before
both. Cooking: fresh extruded pasta takes 5 to 7 minutes: common practice, no source. The kitchen's own
times count.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.press import say_slow_trays
from assistant.batch.decide.timing.ringing import say_timer, warned_at
from assistant.batch.decide.timing.timers import say_over
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.batch import Batch
from assistant.batch.record.commands import (
    Cook,
    Cutter,
    DieWarm,
    NewDie,
    Portions,
    TrayCold,
    TrayDone,
    TraysCold,
    TrayStored,
)
from assistant.batch.record.state import Timer
from assistant.batch.record.timer_kinds import TIMER_KINDS, tray_name, tray_of
from assistant.dough.cutter import speed_for
from assistant.dough.yields import portions

SPOKEN_TO_S = 300.0
"""What is left of a dough's time is said down to a multiple of this (s): short, and never too long."""


def name_die(d: Draft, command: NewDie) -> None:
    """A die by this name is in."""
    d.happen(ev.DieNamed(at=d.now, die=command.name))
    d.say("die_named", "taken", die=command.name)


def warm_die(d: Draft, _command: DieWarm) -> None:
    """The edges are clean: trays may be filled."""
    d.happen(sh.DieWarmed(at=d.now))
    d.say("die_warm", "taken")


def no_cutter_yet(d: Draft, command: Cutter) -> bool:
    """Whether nothing can be made of a figure of the cutter; says why."""
    known = d.state.cutter
    if not command.figure > 0:
        d.say("amount_zero")
    elif known is None and command.of != "speed":
        d.say("cutter_no_speed")
    elif known is not None and known.length_mm is None and command.of == "want":
        d.say("cutter_no_length")
    else:
        return False
    return True


def set_cutter(d: Draft, command: Cutter) -> None:
    """Keep what the cutter does, and say the speed for a wanted length."""
    known = d.state.cutter
    if known is None or command.of == "speed":
        d.happen(sh.CutterTold(at=d.now, speed=command.figure))
        d.say("cutter_speed", "taken", speed=command.figure)
    elif known.length_mm is None or command.of == "length":
        d.happen(sh.CutterTold(at=d.now, speed=known.speed, length_mm=command.figure))
        d.say("cutter_length", "taken", length=command.figure, speed=known.speed)
    else:
        speed = speed_for(known.speed, known.length_mm, command.figure)
        d.say("cutter_wanted", speed=speed, length=command.figure)


def fill_tray(d: Draft, _command: TrayDone) -> None:
    """One more tray is full: the clock of its dough is its own from now on, and may be up already."""
    batch = d.batch
    tray, since, rules = batch.trays + 1, batch.cold_since, batch.food_rules
    due, lead = since + rules.cold_s, d.rules.tray_warn_s
    left = due - d.now
    d.happen(
        ev.TrayFilled(
            at=d.now,
            tray=tray,
            batch=batch.number,
            due=due,
            warn_at=due - lead if 0 < lead < left else None,
            since=since,
            certain=batch.time_certain,
            next_call=d.now + d.rules.ring_every_s * TIMER_KINDS["tray"].pause if left <= 0 else None,
        )
    )
    timer = d.state.timer(tray_name(batch.number, tray))
    if left <= 0 and timer is not None:
        say_timer(d, timer, timer.traits.rings, "ring")
        return
    spoken = left if left < SPOKEN_TO_S else left // SPOKEN_TO_S * SPOKEN_TO_S
    if tray == 1 and batch.time_certain:
        d.say("tray_care", "taken", tray=tray, celsius=rules.celsius, seconds=spoken)
        return
    d.say("tray_filled", "taken", tray=tray)
    if not batch.time_certain:
        d.say("trays_unsure")
    elif left <= lead:
        d.say("tray_soon", celsius=rules.celsius, seconds=spoken)
    else:
        say_slow_trays(d)


def no_such_tray(d: Draft, command: TrayCold) -> bool:
    """Whether no tray waits that can be meant; says so."""
    if _tray_meant(d, command) is not None:
        return False
    d.say("tray_unknown")
    return True


def chill_tray(d: Draft, command: TrayCold) -> None:
    """A tray is cold: within its time, or too late."""
    timer = _tray_meant(d, command)
    if timer is None:
        return
    took, tray = _chill(d, timer), tray_of(timer.name)[1]
    if took >= timer.seconds:
        say_timer(d, timer, "tray_cold_late", "question")
    elif timer.certain:
        d.say("tray_cold", "taken", tray=tray, seconds=took)
    else:
        say_timer(d, timer, timer.traits.left[1], "taken")


def _chill(d: Draft, timer: Timer) -> float:
    """The tray is cold; the time that took (s)."""
    batch, tray = tray_of(timer.name)
    took = d.now - (timer.due - timer.seconds)
    d.happen(sh.TrayChilled(at=d.now, batch=batch, tray=tray, seconds=took, limit_s=timer.seconds))
    return took


def no_tray(d: Draft, _command: TraysCold) -> bool:
    """Whether no tray waits at all; says so."""
    return no_such_tray(d, TrayCold())


def chill_trays(d: Draft, _command: TraysCold) -> None:
    """All trays that wait are cold. Where some were too late, that is said, and of how many."""
    waiting = [t for t in d.state.timers if t.kind == "tray"]
    if len(waiting) == 1:
        chill_tray(d, TrayCold())
        return
    with d.breath():
        took = [(_chill(d, timer), timer) for timer in waiting]
    late = [timer for seconds, timer in took if seconds >= timer.seconds]
    if late:
        limit, celsius = late[0].seconds, d.rules.food.celsius
        d.say("trays_cold_late", "question", count=len(late), limit=limit, celsius=celsius)
    elif all(timer.certain for timer in waiting):
        d.say("trays_cold", "taken", count=len(waiting))
    else:
        d.say("trays_unsure", "taken")


def store_tray(d: Draft, command: TrayStored) -> None:
    """A tray is in the fridge: it is asked whether it is full and new, or cold. Put in, it is warm yet."""
    cold = TrayCold(command.tray)
    if command.state == "full":
        if d.state.batch is None:
            d.say("no_batch")
        else:
            fill_tray(d, TrayDone())
        return
    if command.state == "cold":
        if not no_such_tray(d, cold):
            chill_tray(d, cold)
        return
    waiting, batch, celsius = _tray_meant(d, cold), d.state.batch, d.rules.food.celsius
    fills = batch is not None and command.tray in (None, batch.trays + 1)
    if waiting is None and not fills:
        d.say("tray_unknown")
    elif waiting is None and batch is not None:
        d.ask("tray_stored", TrayDone(), "ask_tray_full", tray=batch.trays + 1)
    elif waiting is not None and not fills:
        d.ask("tray_stored", cold, "ask_tray_cold", tray=tray_of(waiting.name)[1], celsius=celsius)
    else:
        d.ask("tray_stored", command, "ask_tray", celsius=celsius)


def _tray_meant(d: Draft, command: TrayCold) -> Timer | None:
    """Clock of the tray that is meant: of its number, else the one that waits longest."""
    waiting = sorted((t for t in d.state.timers if t.kind == "tray"), key=lambda t: t.due)
    return next((t for t in waiting if command.tray is None or tray_of(t.name)[1] == command.tray), None)


def count_portions(d: Draft, command: Portions) -> None:
    """More portions; more than the dough gives only with a yes."""
    if command.count < 1:
        d.say("amount_zero")
        return
    portion, left = _portion_g(d, d.batch), _dough_left_g(d, d.batch)
    if not d.confirmed:
        if command.count * portion > left + portion / 2:
            d.ask("portions", command, "ask_portions", count=command.count, portion=portion, grams=left)
            return
        if d.unsure:
            d.ask_whether_meant(command)
            return
    d.happen(ev.PortionsCounted(at=d.now, count=command.count))
    d.say("portions_counted", "taken", count=command.count, total=d.batch.portions)


def say_dough_left(d: Draft, batch: Batch) -> None:
    """Dough that is still there, estimated: what went in, less scrap and the portions counted."""
    left = _dough_left_g(d, batch)
    d.say("dough_left", grams=left, portions=portions(left, _portion_g(d, batch)))


def _portion_g(d: Draft, batch: Batch) -> float:
    """Dough of a portion (g): by the recipe, else by the kitchen's rules."""
    return (batch.plan.portion_g if batch.plan else None) or d.rules.portion_g


def _dough_left_g(d: Draft, batch: Batch) -> float:
    return max(0.0, batch.product_g - batch.scrap_g - batch.portions * _portion_g(d, batch))


def cook(d: Draft, command: Cook) -> None:
    """Time a shape in the water; one of the same shape is replaced, and that is said."""
    seconds = d.known.cooking_s.get(command.name, d.rules.cook_s)
    tone, warn_at = say_over(d, command.name), warned_at(d, "cook", seconds)
    d.happen(
        ev.TimerSet(
            at=d.now, name=command.name, seconds=seconds, due=d.now + seconds, kind="cook", warn_at=warn_at
        )
    )
    d.say("cooking_for", tone, die=command.name, seconds=seconds)

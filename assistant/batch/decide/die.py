"""The die: cold at first, changed in mid-batch, and the cutter before it."""

from assistant.batch.decide.draft import Draft
from assistant.batch.record import shift_events as sh
from assistant.batch.record.commands import Cutter, DieWarm
from assistant.batch.record.state import Batch
from assistant.dough.cutter import speed_for
from assistant.dough.yields import portions


def warm(d: Draft, command: DieWarm) -> None:
    """The edges are clean: trays may be filled."""
    if d.state.batch is None:
        d.say("no_batch")
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    d.happen(sh.DieWarmed(d.now))
    d.say("die_warm", "taken")


def cutter(d: Draft, command: Cutter) -> None:
    """Keep what the cutter does, and tell the speed for a wanted length."""
    told = d.state.cutter
    if not command.figure > 0:
        d.say("amount_zero")
    elif command.of == "speed":
        d.happen(sh.CutterTold(d.now, command.figure))
        d.say("cutter_speed", "taken", speed=command.figure)
    elif told is None:
        d.say("cutter_no_speed")
    elif command.of == "length":
        d.happen(sh.CutterTold(d.now, told.speed, command.figure))
        d.say("cutter_length", "taken", length=command.figure, speed=told.speed)
    elif told.length_mm is None:
        d.say("cutter_no_length")
    else:
        speed = speed_for(told.speed, told.length_mm, command.figure)
        d.say("cutter_wanted", speed=speed, length=command.figure)


def say_dough_left(d: Draft, batch: Batch) -> None:
    """Dough that is still there, estimated: what went in, less scrap and the portions counted."""
    portion = (batch.plan.portion_g if batch.plan else None) or d.rules.portion_g
    left = max(0.0, batch.product_g - batch.scrap_g - batch.portions * portion)
    d.say("dough_left", grams=left, portions=portions(left, portion))

"""The press: how warm the strand leaves the die, and whether trays come slower than they did.

Above 50 C gluten is damaged, and 35 to 45 C in the barrel made the firmest pasta: `dough.temperature` has the
sources. That slow trays are dry crumb or a die that clogs is common practice, no source.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.timing.cleaning import say_unclean
from assistant.batch.record import events as ev
from assistant.batch.record.batch import Batch
from assistant.batch.record.commands import DieClean, TellCondition
from assistant.batch.record.press.press_events import DieCleaned, TraysSlowed
from assistant.dough.calculators import die_heat
from assistant.dough.calculators.throughput import slow

SPOKEN_TO_PCT = 5.0
"""How much slower trays come is said to a multiple of this (%)."""
SURE_READINGS = 3
"""From so many temperatures on a die's own heat is spoken of."""


def tell_exit(d: Draft, command: TellCondition) -> None:
    """Note the strand's temperature, with a caution from 45 C on, or where it will soon be at 50."""
    batch, celsius = d.batch, command.value
    d.happen(ev.ConditionTold(at=d.now, what="exit", value=celsius))
    if not has_gluten(batch):
        d.say("condition_told", "taken", what="exit", value=celsius)
    elif celsius >= die_heat.TOO_HOT_C:
        d.say("exit_hot", "question", value=celsius)
    elif celsius >= die_heat.CAUTION_C:
        d.say("exit_warm", "question", value=celsius)
    elif (left := _seconds_to_too_hot(d, batch)) is not None:
        d.say("exit_climbs", "question", value=celsius, seconds=left)
    else:
        d.say("condition_told", "taken", what="exit", value=celsius)


def has_gluten(batch: Batch) -> bool:
    """Whether heat has gluten to damage."""
    return not batch.gluten_free


def _seconds_to_too_hot(d: Draft, batch: Batch) -> float | None:
    """When the strand will be at 50 C (s), by the shift's readings of this die; None: not soon."""
    if not batch.time_certain:
        return None
    readings = [(one.at, one.celsius) for one in d.state.exits if one.die == batch.die]
    return die_heat.seconds_to_too_hot(readings)


def say_exit_expected(d: Draft) -> None:
    """A word before: what this die makes of a dough that warm, where that is known and comes near 50 C."""
    batch = d.batch
    figures = d.known.dies(batch.die) if batch.die else None
    dough_c = dict(batch.conditions).get("dough")
    energy = figures.energy if figures else None
    if energy is None or energy.readings < SURE_READINGS or dough_c is None or not has_gluten(batch):
        return
    if not 0.0 < dough_c < die_heat.CAUTION_C or batch.water_g <= 0:
        return
    expected = dough_c + die_heat.rise_c(batch.hydration_pct, dough_c, energy.kj_per_kg)
    if expected >= die_heat.CAUTION_C:
        d.say("exit_expected", value=float(round(expected)))


def say_slow_trays(d: Draft) -> None:
    """Call trays that come slowly, once in a batch."""
    batch = d.batch
    if d.state.slow_called == batch.number or not batch.time_certain:
        return
    figures = d.known.dies(batch.die) if batch.die else None
    found = slow(batch.at_die.gaps_since_s, figures.tray_s if figures else None)
    if found is None:
        return
    d.happen(TraysSlowed(at=d.now, batch=batch.number, slower_pct=found.slower_pct, usual_s=found.usual_s))
    d.say("trays_slow", "question", pct=round(found.slower_pct / SPOKEN_TO_PCT) * SPOKEN_TO_PCT)


def note_die_cleaned(d: Draft, _command: DieClean) -> None:
    """Note it, and say when the whole machine is to be: a clean die ends nothing of that clock."""
    d.happen(DieCleaned(at=d.now))
    d.say("die_cleaned", "taken")
    if d.state.unclean is not None:
        say_unclean(d, d.state.unclean)

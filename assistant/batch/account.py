"""The account of a batch: flour, water, corrections, taking back, and how far it is to the marks."""

import math

from assistant.batch import events as ev
from assistant.batch.commands import (
    AddFlour,
    AddWater,
    Amount,
    Command,
    MakeThat,
    NewBatch,
    PourRest,
    Scrap,
    SetLot,
    SetTarget,
)
from assistant.batch.draft import Draft
from assistant.batch.evolve import HALF_GRAM
from assistant.batch.rules import BatchRules
from assistant.batch.state import Batch
from assistant.batch.transitions import Phase
from assistant.batch.twins import is_bare_twin, plausible_twin
from assistant.dough.hydration import most_flour_g, rescue_flour_g, round_down, water_for_g
from assistant.dough.water import density_g_per_ml

LEAST_FLOUR_G = 100.0
"""Less flour than this is a misheard number, not a batch."""
TARGET_BOUNDS = (20.0, 50.0)
"""Hydration that can still be meant (percent); outside it was misheard."""


def grams_of(amount: Amount, rules: BatchRules) -> float:
    """Mass of a said amount (g); volumes as water of the kitchen's temperature."""
    return amount.grams(density_g_per_ml(rules.water_temperature_c))


def first_pour_g(flour_g: float, target_pct: float, rules: BatchRules) -> float:
    """Water (g) after which the crumb is first looked at, down to a multiple of 5 g."""
    return round_down(water_for_g(flour_g, target_pct) * rules.first_pour_share, 5.0)


def open_batch(d: Draft, command: NewBatch) -> None:
    """Open a batch, unless one is open or the flour can't be meant."""
    if d.state.batch is not None:
        d.say("batch_already_open", batch=d.state.batch.number)
        return
    flour = grams_of(command.flour, d.rules)
    if flour < LEAST_FLOUR_G:
        d.say("flour_too_little", grams=flour, least=LEAST_FLOUR_G)
        return
    if flour > d.rules.hopper_g:
        d.say("flour_too_much", grams=flour, hopper=d.rules.hopper_g)
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure_amount", grams=flour)
        return
    house = (d.rules.target_pct, d.rules.low_pct, d.rules.high_pct)
    target, low, high = d.state.next_marks or house
    first = first_pour_g(flour, target, d.rules)
    number = d.state.last_batch + 1
    d.happen(
        ev.BatchOpened(
            d.now, number, flour, target, low, high, d.rules.hopper_g, first, d.state.next_lot, d.source
        )
    )
    water = water_for_g(flour, target)
    d.say("batch_opened", "taken", batch=number, flour=flour, water=water, target=target)
    if flour + water > d.rules.hopper_g:
        most = round_down(most_flour_g(d.rules.hopper_g, target), 5.0)
        d.say("hopper_over", product=flour + water, hopper=d.rules.hopper_g, flour=most)
    d.say("first_pour", grams=first)


def add_water(d: Draft, command: AddWater) -> None:
    """Log water, or ask first where it would pass high or may be misheard."""
    batch = _open(d)
    if batch is None:
        return
    grams = _plausible(d, batch, command.amount)
    if grams is None or _asked_first(d, batch, command, command.amount, grams, more_water_g=grams):
        return
    d.happen(ev.WaterAdded(d.now, d.state.next_entry, grams, d.source))
    twice = is_bare_twin(command.amount)
    d.say("water_in_twice" if twice else "water_in", "taken", grams=grams)
    say_marks(d, looked_before=batch.water_g >= batch.first_pour_g - HALF_GRAM)


def pour_rest(d: Draft, _command: PourRest) -> None:
    """Log all that was left to the target."""
    batch = _open(d)
    if batch is None:
        return
    grams = batch.to_target_g
    if grams <= HALF_GRAM:
        d.say("nothing_left_to_pour")
        return
    if d.unsure and not d.confirmed:
        d.ask("unsure", PourRest(), "ask_unsure_amount", grams=grams)
        return
    d.happen(ev.WaterAdded(d.now, d.state.next_entry, grams, d.source))
    d.say("water_in", "taken", grams=grams)
    say_marks(d, looked_before=True)


def add_flour(d: Draft, command: AddFlour) -> None:
    """Log more flour; the marks move with it."""
    batch = _open(d)
    if batch is None:
        return
    grams = _plausible(d, batch, command.amount)
    if grams is None or _asked_first(d, batch, command, command.amount, grams, more_water_g=0.0):
        return
    d.happen(ev.FlourAdded(d.now, d.state.next_entry, grams, d.source))
    d.say("flour_in_twice" if is_bare_twin(command.amount) else "flour_in", "taken", grams=grams)
    _say_hopper(d)
    say_marks(d, looked_before=True)


def weigh_scrap(d: Draft, command: Scrap) -> None:
    """Log dough that was trimmed or lost."""
    batch = _open(d)
    if batch is None:
        return
    grams = _plausible(d, batch, command.amount)
    if grams is None or _asked_first(d, batch, command, command.amount, grams, more_water_g=0.0):
        return
    d.happen(ev.ScrapWeighed(d.now, d.state.next_entry, grams, d.source))
    d.say("scrap_in", "taken", grams=grams)


def correct(d: Draft, command: MakeThat) -> None:
    """Correct the last entry of the account."""
    batch = _open(d)
    if batch is None:
        return
    last = batch.entries[-1]
    grams = _plausible(d, batch, command.amount)
    if grams is None:
        return
    if last.number == batch.entries[0].number and grams < LEAST_FLOUR_G:
        d.say("flour_too_little", grams=grams, least=LEAST_FLOUR_G)
        return
    more_water = grams - last.grams if last.kind == "water" else 0.0
    if _asked_first(d, batch, command, command.amount, grams, more_water_g=more_water):
        return
    d.happen(ev.EntryCorrected(d.now, last.number, grams, last.grams, d.source))
    d.say("corrected", "taken", grams=grams, was=last.grams)
    if last.kind != "scrap":
        _say_hopper(d)
        say_marks(d, looked_before=True)


def set_target(d: Draft, command: SetTarget) -> None:
    """Aim at another hydration, in this batch or the next; outside low and high only with a yes."""
    least, most = TARGET_BOUNDS
    if not least <= command.percent <= most:
        d.say("target_impossible", target=command.percent, least=least, most=most)
        return
    batch = d.state.batch
    house = d.state.next_marks or (d.rules.target_pct, d.rules.low_pct, d.rules.high_pct)
    low, high = (batch.low_pct, batch.high_pct) if batch else house[1:]
    inside = low <= command.percent <= high
    if not d.confirmed:
        if not inside:
            d.ask("target_outside", command, "ask_target", target=command.percent, low=low, high=high)
            return
        if d.unsure:
            d.ask("unsure", command, "ask_unsure", said=d.text)
            return
    low, high = min(low, command.percent), max(high, command.percent)
    d.happen(ev.TargetSet(d.now, command.percent, low, high))
    if d.state.batch is None:
        d.say("target_set_next", "taken", target=command.percent)
        return
    now = d.state.batch
    d.say("target_set", "taken", target=command.percent, water=water_for_g(now.flour_g, now.target_pct))
    say_marks(d, looked_before=True)


def name_lot(d: Draft, command: SetLot) -> None:
    """Name the flour's lot, of this batch or the next."""
    if d.unsure and not d.confirmed:
        d.ask("unsure", command, "ask_unsure", said=d.text)
        return
    d.happen(ev.LotNamed(d.now, command.lot))
    d.say("lot_named", "taken", lot=command.lot)


def say_marks(d: Draft, *, looked_before: bool) -> None:
    """Say how far it is to the next mark, and what to do where one is reached.

    Marks are the target, then high. The first look at the crumb is a call, not a mark: it comes once.
    """
    batch = d.state.batch
    if batch is None:
        return
    to_target, to_high = batch.to_target_g, batch.to_high_g
    if to_target > HALF_GRAM:
        d.say("left", grams=to_target)
        if not looked_before and batch.water_g >= batch.first_pour_g - HALF_GRAM:
            _say_mix(d, batch)
    elif to_target >= -HALF_GRAM:
        d.say("on_target")
        _say_mix(d, batch)
    elif to_high > HALF_GRAM:
        d.say("over_target", grams=-to_target, to_high=to_high)
    elif to_high >= -HALF_GRAM:
        d.say("at_high")
    else:
        _say_rescue(d, batch)


def _say_mix(d: Draft, batch: Batch) -> None:
    """Send the cook to mixing, unless it is going on or the dough is out of the hopper already."""
    if batch.phase not in (Phase.MIXING, Phase.EXTRUDING):
        d.say("mix_then_squeeze")


def _say_rescue(d: Draft, batch: Batch) -> None:
    """Over high: by how much, the flour that mends it, and whether the hopper holds that."""
    d.say("over_high", grams=-batch.to_high_g)
    flour = float(math.ceil(rescue_flour_g(batch.flour_g, batch.water_g, batch.high_pct) - 1e-6))
    over = batch.product_g + flour - batch.hopper_g
    if over > HALF_GRAM:
        d.say("rescue_over_hopper", flour=flour, over=over)
    else:
        d.say("rescue_fits", flour=flour)


def _say_hopper(d: Draft) -> None:
    """Warn where flour and the target's water no longer fit the hopper."""
    batch = d.state.batch
    if batch is None:
        return
    product = batch.flour_g + max(batch.water_g, water_for_g(batch.flour_g, batch.target_pct))
    if product > batch.hopper_g + HALF_GRAM:
        most = round_down(most_flour_g(batch.hopper_g, batch.target_pct), 5.0)
        d.say("hopper_over", product=product, hopper=batch.hopper_g, flour=most)


def _open(d: Draft) -> Batch | None:
    """The open batch; says so where there is none."""
    if d.state.batch is None:
        d.say("no_batch")
    return d.state.batch


def _plausible(d: Draft, batch: Batch, amount: Amount) -> float | None:
    """Grams of an amount that can be meant; says so and gives None where it can't."""
    grams = grams_of(amount, d.rules)
    if grams <= 0:
        d.say("amount_zero")
        return None
    if grams > batch.hopper_g:
        d.say("amount_too_much", grams=grams, hopper=batch.hopper_g)
        return None
    return grams


def _asked_first(
    d: Draft, batch: Batch, command: Command, amount: Amount, grams: float, *, more_water_g: float
) -> bool:
    """Whether a question was opened instead of logging."""
    if d.confirmed:
        return False
    over = more_water_g - batch.to_high_g
    if more_water_g > 0 and over > HALF_GRAM:
        d.ask("past_high", command, "ask_past_high", grams=grams, over=over)
    elif plausible_twin(amount, grams, batch, is_water=more_water_g != 0):
        d.ask("twin", command, "ask_twin", grams=grams)
    elif d.unsure:
        d.ask("unsure", command, "ask_unsure_amount", grams=grams)
    else:
        return False
    return True

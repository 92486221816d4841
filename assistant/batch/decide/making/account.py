"""The account of a batch: flour, water, scrap, corrections, and the marks that they are held against."""

from dataclasses import replace

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.additions import ask_addition
from assistant.batch.decide.making.entering import asked_first, grams_of, plausible
from assistant.batch.decide.making.flour import (
    forecast_of,
    next_planned,
    planned_for,
    say_changed,
)
from assistant.batch.decide.making.hopper import more_than_is_in, say_after_taking_out
from assistant.batch.decide.making.marks import (
    first_look_reached,
    flour_that_fits_g,
    most_flour_g,
    say_hopper,
    say_marks,
)
from assistant.batch.decide.making.mishearing import is_bare_twin, is_same_pour, rest_is_in
from assistant.batch.decide.timing.cleaning import say_overdue
from assistant.batch.record import events as ev
from assistant.batch.record.batch import HALF_GRAM, MadeOf
from assistant.batch.record.commands import (
    AddFlour,
    AddWater,
    Command,
    Incomplete,
    MakeThat,
    NewBatch,
    PourRest,
    Scrap,
    SetTarget,
)
from assistant.batch.record.hopper.entries import OUT
from assistant.batch.record.hopper.leftovers import left_behind_before
from assistant.batch.record.rules import LEAST_FLOUR_G
from assistant.dough.flour.staging import first_water_g
from assistant.dough.hydration import water_for_g
from assistant.dough.lots import Forecast
from assistant.dough.recipe import RecipePlan
from assistant.dough.shift_plan import PlannedBatch

TARGET_BOUNDS = (20.0, 50.0)
"""Hydration that can still be meant (percent); outside it was misheard."""


def open_batch(d: Draft, command: NewBatch) -> None:
    """Open a batch, unless one is open or the flour can't be meant."""
    open_with(d, command, grams_of(command.flour, d.rules))


def _planned_instead(d: Draft, command: Incomplete) -> PlannedBatch | None:
    """A batch without its flour is the next of the day's plan, if there is one."""
    without_flour = (command.command, command.missing) == ("new_batch", "number")
    return next_planned(d) if without_flour else None


def complete(d: Draft, command: Incomplete) -> None:
    """Ask for what a command lacks, unless the day's plan says it; not into another question."""
    if d.state.question is not None:
        return
    planned = _planned_instead(d, command)
    if planned is None:
        key = "number_missing" if command.missing == "number" else "unit_unfit"
        d.ask("missing", command, key, command=command.command)
        return
    recipe = d.known.recipes.get(planned.recipe) if planned.recipe else None
    open_with(d, command, planned.flour_g, recipe if d.state.next_plan is None else None)


def open_with(
    d: Draft,
    command: Command,
    flour: float,
    recipe: RecipePlan | None = None,
    *,
    like: MadeOf | None = None,
) -> None:
    """Open a batch with this much flour (g), by this recipe where the cook named none.

    `like`: the batch whose lot, recipe and marks it has where the cook named none.
    """
    if d.state.batch is not None:
        d.say("batch_already_open", batch=d.state.batch.number)
        return
    if not flour > 0:
        d.say("amount_zero")
        return
    if flour < LEAST_FLOUR_G:
        d.say("flour_too_little", grams=flour, least=LEAST_FLOUR_G)
        return
    marks, lot, plan = d.state.next_marks, d.state.next_lot, d.state.next_plan
    if recipe is not None:
        plan, marks = recipe, (recipe.target_pct, recipe.low_pct, recipe.high_pct)
    if like is not None:
        marks, lot, plan = marks or like.marks, lot or like.lot, plan or like.plan
    target, low, high = marks or (d.rules.target_pct, d.rules.low_pct, d.rules.high_pct)
    if flour > d.rules.hopper_g:
        brought = plan.additions(100.0) if plan else ()
        d.say("flour_too_much", grams=flour, most=flour_that_fits_g(d.rules.hopper_g, target, brought))
        return
    if d.doubtful:
        d.ask("unsure", command, "ask_unsure_amount", grams=flour)
        return
    if recipe is not None:
        d.happen(ev.RecipeChosen(at=d.now, plan=recipe))
    forecast = forecast_of(d, lot, plan.recipe if plan else None)
    planned = planned_for(d, flour)
    free = plan.gluten_free if plan else lot in d.known.gluten_free_lots
    d.happen(
        ev.BatchOpened(
            at=d.now,
            batch=d.state.last_batch + 1,
            flour_g=flour,
            target_pct=target,
            low_pct=low,
            high_pct=high,
            hopper_g=d.rules.hopper_g,
            first_pour_g=first_water_g(flour, target, d.rules.first_pour_share, forecast),
            lot=lot,
            source=d.source,
            plan=plan,
            planned=planned.key if planned else None,
            additions_told=plan is not None and bool(plan.shares),
            food=d.rules.food,
            unclean_since=d.state.left_unclean.since if d.state.left_unclean else None,
            granulation=None if lot is None else d.known.granulation.get(lot),
            die=d.state.die_before,
            gluten_free=free,
            clock_told=d.state.clock_told,
            carried_over=left_behind_before(d.state, plan, gluten_free=free),
        )
    )
    again = like.lot if like is not None and like.lot == lot else None
    _say_opened(d, planned.die if planned else None, again, forecast)


def _say_opened(d: Draft, die: str | None, lot: str | None, forecast: Forecast | None) -> None:
    """Flour and water, what was in the machine before, and the first step; of a hopper too small, only that.

    Additions are steps of their own: the first is asked for here, else the first pour is named; "what next"
    gives it where more must be said. `die`: what the day's plan wants made of it; `lot`: said with it and
    with what is new of it (`forecast`), where the cook did not name it.
    """
    batch = d.batch
    flour, target, pour = batch.flour_g, batch.target_pct, max(0.0, batch.to_pour_g(batch.target_pct))
    fits = batch.full_g(target) <= batch.hopper_g
    if not fits:
        d.say("batch_opened_over", "question", batch=batch.number, flour=flour, most=most_flour_g(batch))
    elif lot is not None:
        d.say("batch_again", "taken", batch=batch.number, flour=flour, water=pour, target=target, lot=lot)
    elif die is not None:
        d.say("batch_opened_planned", "taken", batch=batch.number, die=die, flour=flour, water=pour)
    else:
        d.say("batch_opened", "taken", batch=batch.number, flour=flour, water=pour, target=target)
    if batch.carried_over:
        d.say("allergen_before", allergens=",".join(batch.carried_over))
    warned = bool(batch.carried_over) or say_overdue(d)
    changed = lot is not None and forecast is not None and (forecast.calls_climb or forecast.moved_now)
    if fits and (changed or warned or not ask_addition(d)) and batch.to_first_pour_g > HALF_GRAM:
        d.say("first_pour", grams=batch.to_first_pour_g)
    if lot is not None:
        say_changed(d, lot, forecast)


def add_water(d: Draft, command: AddWater) -> None:
    """Log water, or ask first where it would pass high or may be misheard.

    What the jug reports is in already: it is logged however much it is.
    """
    batch = d.batch
    grams = plausible(d, batch, command.amount)
    if grams is None or is_same_pour(d, batch, grams):
        return
    if asked_first(d, batch, command, command.amount, grams, "water"):
        return
    d.happen(ev.WaterAdded(at=d.now, entry=d.state.next_entry, grams=grams, source=d.source))
    d.say("water_in_twice" if _said_twice(d, command) else "water_in", "taken", grams=grams)
    say_marks(d, looked_before=first_look_reached(batch))


def pour_rest(d: Draft, _command: PourRest) -> None:
    """Log all that was left to what was asked for, or to the target."""
    batch = d.batch
    grams = batch.left_g
    if rest_is_in(d, batch):
        return
    if grams <= HALF_GRAM:
        d.say("nothing_left_to_pour")
        return
    if d.doubtful:
        d.ask("unsure", PourRest(), "ask_unsure_amount", grams=grams)
        return
    d.happen(ev.WaterAdded(at=d.now, entry=d.state.next_entry, grams=grams, source=d.source))
    d.say("water_in", "taken", grams=grams)
    say_marks(d, looked_before=True)


def add_flour(d: Draft, command: AddFlour) -> None:
    """Log more flour; the marks move with it. Without a batch it is asked whether it begins one."""
    if d.state.batch is None:
        flour = grams_of(command.amount, d.rules)
        if LEAST_FLOUR_G <= flour <= d.rules.hopper_g:
            d.ask("unsure", NewBatch(command.amount), "ask_new_batch", grams=flour)
        else:
            d.say("no_batch")
        return
    batch = d.batch
    grams = plausible(d, batch, command.amount)
    if grams is None or asked_first(d, batch, command, command.amount, grams, "flour"):
        return
    d.happen(ev.FlourAdded(at=d.now, entry=d.state.next_entry, grams=grams, source=d.source))
    d.say("flour_in_twice" if _said_twice(d, command) else "flour_in", "taken", grams=grams)
    if d.settled != "over_hopper":
        say_hopper(d)
    say_marks(d, looked_before=first_look_reached(batch), moved=True)


def weigh_scrap(d: Draft, command: Scrap) -> None:
    """Log dough that was trimmed or lost."""
    batch = d.batch
    grams = plausible(d, batch, command.amount)
    if grams is None or asked_first(d, batch, command, command.amount, grams, "scrap"):
        return
    d.happen(ev.ScrapWeighed(at=d.now, entry=d.state.next_entry, grams=grams, source=d.source))
    d.say("scrap_in", "taken", grams=grams)


def correct(d: Draft, command: MakeThat) -> None:
    """Correct the last entry of the account."""
    batch = d.batch
    last = batch.entries[-1]
    grams = plausible(d, batch, command.amount)
    if grams is None:
        return
    if last.number == batch.entries[0].number and grams < LEAST_FLOUR_G:
        d.say("flour_too_little", grams=grams, least=LEAST_FLOUR_G)
        return
    if last.kind in OUT.values():
        before = replace(batch, entries=batch.entries[:-1])
        if more_than_is_in(d, before, grams, last.kind):
            return
    if asked_first(
        d,
        batch,
        command,
        command.amount,
        grams,
        last.kind,
        instead_of=last.grams,
        water_pct=last.water_pct,
    ):
        return
    d.happen(ev.EntryCorrected(at=d.now, entry=last.number, grams=grams, was=last.grams, source=d.source))
    d.say("corrected", "taken", grams=grams, was=last.grams)
    if last.kind == "flour" and d.settled != "over_hopper":
        say_hopper(d)
    if last.kind in OUT.values():
        say_after_taking_out(d, last.kind)
    elif last.kind != "scrap":
        say_marks(d, looked_before=first_look_reached(batch), moved=last.kind == "flour")


def set_target(d: Draft, command: SetTarget) -> None:
    """Aim at another hydration, in this batch or the next; outside low and high only with a yes."""
    least, most = TARGET_BOUNDS
    if not least <= command.percent <= most:
        d.say("target_impossible", target=command.percent, least=least, most=most)
        return
    batch = d.state.batch
    plan = batch.plan if batch else d.state.next_plan
    # The marks that the batch began with: its recipe's, else the kitchen's.
    usual = (plan.low_pct, plan.high_pct) if plan else (d.rules.low_pct, d.rules.high_pct)
    low, high = usual
    if batch is not None:
        low, high = batch.low_pct, batch.high_pct
    elif d.state.next_marks is not None:
        _, low, high = d.state.next_marks
    inside = low <= command.percent <= high
    if not d.confirmed:
        if not inside:
            d.ask("target_outside", command, "ask_target", target=command.percent, low=low, high=high)
            return
        if d.unsure:
            d.ask_whether_meant(command)
            return
    # A yes widens the usual marks for the target that it was given for, not for those that follow.
    low, high = min(usual[0], command.percent), max(usual[1], command.percent)
    d.happen(ev.TargetSet(at=d.now, target_pct=command.percent, low_pct=low, high_pct=high))
    if batch is None:
        d.say("target_set_next", "taken", target=command.percent)
        return
    water = water_for_g(batch.flour_g, command.percent)
    d.say("target_set", "taken", target=command.percent, water=water)
    say_marks(d, looked_before=first_look_reached(batch), moved=True)


def _said_twice(d: Draft, command: AddWater | AddFlour) -> bool:
    """Whether the number is read back by its digits too: it was heard, and has a twin."""
    return d.source == "voice" and is_bare_twin(command.amount)

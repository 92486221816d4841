"""What a batch is made of: its lot, recipe and place in the day's plan, and the conditions it is made under.

What the kitchen knows of them is a suggestion; the cook decides.
"""

from collections.abc import Iterable

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.marks import first_look_reached
from assistant.batch.decide.making.press import say_exit_expected, tell_exit
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import Tone
from assistant.batch.record.batch import HALF_GRAM, Batch
from assistant.batch.record.commands import CloseBatch, Condition, SetLot, TellCondition, UseRecipe
from assistant.batch.record.hopper.leftovers import carried_into
from assistant.batch.record.state import State
from assistant.dough.evidence import Bounds, bounds
from assistant.dough.flour.granulation import is_coarse, rest_s
from assistant.dough.flour.staging import first_water_g, first_water_pct
from assistant.dough.lots import Forecast
from assistant.dough.ranges import EXIT_C
from assistant.dough.shift_plan import PlannedBatch

LONGEST_HEARD = 6
"""Signs of a lot that is taken at once when it was heard. Telephone numbers said near the machine are longer:
"nine six seven ..." is heard as "lot six seven ..."."""


def forecast_of(d: Draft, lot: str | None, recipe: str | None) -> Forecast | None:
    """What is known of the next batch of a lot in a recipe."""
    return None if lot is None else d.known.lots(lot, recipe, None)


def forecast_in(d: Draft, batch: Batch) -> Forecast | None:
    """What is known of this batch, in the air that the cook told of."""
    humidity = dict(batch.conditions).get("humidity")
    return None if batch.lot is None else d.known.lots(batch.lot, batch.recipe, humidity)


def name_lot(d: Draft, command: SetLot) -> None:
    """Name the flour's lot, of this batch or the next, and say what is known of it.

    An open batch changes its lot only with a yes: flour of two lots in one batch is rare, a lot that was
    heard wrong is not.
    """
    batch = d.state.batch
    if not d.confirmed:
        was = batch.lot if batch else None
        if was is not None and was != command.lot:
            d.ask("lot_change", command, "ask_lot_change", lot=command.lot, was=was)
            return
        if d.unsure or (d.source == "voice" and len(command.lot) > LONGEST_HEARD):
            d.ask_whether_meant(command)
            return
    plan = batch.plan if batch else d.state.next_plan
    forecast = forecast_of(d, command.lot, plan.recipe if plan else None)
    first = None
    if batch is not None and forecast is not None and not (batch.looked or first_look_reached(batch)):
        first = first_water_g(batch.flour_g, batch.target_pct, d.rules.first_pour_share, forecast)
    grain = d.known.granulation.get(command.lot)
    free, carried = _gluten_by(d, command.lot)
    d.happen(
        ev.LotNamed(
            at=d.now,
            lot=command.lot,
            first_pour_g=first,
            granulation=grain,
            gluten_free=free,
            carried_over=carried,
        )
    )
    if forecast is not None and forecast.known:
        _say_known(d, command.lot, forecast)
    else:
        d.say("lot_named", "taken", lot=command.lot)
        if forecast is not None and not is_coarse(grain):
            d.say("lot_unknown")
    if is_coarse(grain):
        usual = (plan.rest_s if plan else None) or d.rules.rest_s
        d.say("lot_coarse", seconds=rest_s(usual, grain))
    if free and carried:
        d.say("allergen_before", allergens=",".join(carried))


def _gluten_by(d: Draft, lot: str) -> tuple[bool | None, tuple[str, ...]]:
    """Whether an open batch is without gluten by this lot, and what is carried over into it then.

    None where nothing of that changes. A recipe says it by itself, whatever the lot.
    """
    batch = d.state.batch
    free = lot in d.known.gluten_free_lots
    if batch is None or batch.plan is not None or free == batch.gluten_free:
        return None, ()
    return free, carried_into(d.state, batch.carried_over, gluten_free=free)


def say_changed(d: Draft, lot: str, forecast: Forecast | None, tone: Tone | None = None) -> bool:
    """Say that a lot has moved, once; or that it climbs, once in as many batches as that takes."""
    if forecast is None:
        return False
    if forecast.moved_now:
        # To half a point: no kitchen knows it closer.
        points = max(0.5, round(abs(forecast.drift_points) * 2.0) / 2.0)
        d.say(
            "lot_takes_more" if forecast.drift_points > 0 else "lot_takes_less", tone, lot=lot, points=points
        )
        return True
    if not forecast.calls_climb:
        return False
    d.say("lot_climbs", tone, lot=lot, hydration=forecast.likely_pct, batches=forecast.climbed)
    return True


def _say_known(d: Draft, lot: str, forecast: Forecast) -> None:
    """Where the lot is likely to end, or that this has moved, and the first pour that follows from it."""
    if not say_changed(d, lot, forecast, "taken"):
        likely = forecast.likely_pct
        d.say("lot_likely", "taken", lot=lot, hydration=likely, batches=forecast.batches)
    batch = d.state.batch
    if batch is None:
        target, _, _ = d.state.next_marks or (d.rules.target_pct, d.rules.low_pct, d.rules.high_pct)
        first = first_water_pct(forecast, target, d.rules.first_pour_share)
        d.say("lot_first_pour_pct", hydration=first)
    elif batch.to_first_pour_g > HALF_GRAM and not batch.looked:
        d.say("lot_first_pour", grams=batch.to_first_pour_g)


def no_such_recipe(d: Draft, command: UseRecipe) -> bool:
    """Whether the kitchen has no such recipe; says so."""
    if command.recipe in d.known.recipes:
        return False
    d.say("recipe_unknown", recipe=command.recipe)
    return True


def use_recipe(d: Draft, command: UseRecipe) -> None:
    """Take a recipe of the kitchen's for the next batch."""
    plan = d.known.recipes[command.recipe]
    d.happen(ev.RecipeChosen(at=d.now, plan=plan))
    d.say("recipe_chosen", "taken", recipe=plan.recipe, target=plan.target_pct)


def left_of_plan(state: State, plan: Iterable[PlannedBatch]) -> list[PlannedBatch]:
    """The batches of the day's plan that are neither made nor open, in its order."""
    begun = {*state.made, state.batch.planned if state.batch else None}
    return [one for one in plan if one.key not in begun]


def next_planned(d: Draft) -> PlannedBatch | None:
    """The first batch of the day's plan that is neither made nor open."""
    return next(iter(left_of_plan(d.state, d.known.plan)), None)


def planned_for(d: Draft, flour_g: float) -> PlannedBatch | None:
    """The plan's next batch, where a batch of this much flour (g) is that one."""
    planned = next_planned(d)
    return planned if planned is not None and abs(planned.flour_g - flour_g) < 1.0 else None


LATE_S = 60.0
"""A batch of the plan is late from here on (s): its start is named to the minute."""


def say_planned(d: Draft) -> bool:
    """Say the plan's next batch, and that it is late or of another day; whether there is one."""
    planned = next_planned(d)
    if planned is None:
        return False
    pasta = f"{planned.recipe} {planned.die}" if planned.recipe else planned.die
    time = d.known.plan_time
    if time is not None and time.days > 0:
        d.say("next_planned_old", die=pasta, flour=planned.flour_g, days=time.days)
    elif time is not None and (late := time.late_s(planned)) >= LATE_S:
        d.say("next_planned_late", die=pasta, flour=planned.flour_g, seconds=late)
    else:
        d.say("next_planned", die=pasta, flour=planned.flour_g, start=planned.start)
    return True


CONDITION_BOUNDS: dict[Condition, tuple[float, float]] = {
    "kitchen": (-10.0, 60.0),
    "dough": (-10.0, 60.0),
    "humidity": (0.0, 100.0),
    "exit": EXIT_C.bounds,
}
"""What can be meant: degrees Celsius, and percent of relative humidity."""


def impossible_condition(d: Draft, command: TellCondition) -> bool:
    """Whether a condition can't be meant; says so."""
    least, most = CONDITION_BOUNDS[command.what]
    if least <= command.value <= most:
        return False
    d.say("condition_impossible", value=command.value, least=least, most=most)
    return True


def note_condition(d: Draft, command: TellCondition) -> None:
    """Note a condition with the open batch; a later one takes its place."""
    if command.what == "exit":
        tell_exit(d, command)
        return
    d.happen(ev.ConditionTold(at=d.now, what=command.what, value=command.value))
    d.say("condition_told", "taken", what=command.what, value=command.value)
    if command.what == "dough":
        say_exit_expected(d)


def asked_about_lot(d: Draft, batch: Batch, command: CloseBatch) -> bool:
    """Whether a question was opened because a batch that is to be closed is far from its lot."""
    if batch.water_g <= 0:
        return False
    forecast = forecast_in(d, batch)
    if forecast is None or any(finding == "doubtful" for finding, _ in batch.squeezes[-1:]):
        return False
    # A batch that nobody squeezed teaches its lot nothing, but its account may still lack something.
    width, pct = forecast.window_pct, batch.hydration_pct
    found = bounds(batch.squeezes, width) or Bounds(pct - width, pct + width)
    if not forecast.is_far(found):
        return False
    d.ask(
        "far_from_lot",
        command,
        "ask_far_from_lot",
        hydration=batch.hydration_pct,
        lot=batch.lot or "",
        likely=forecast.likely_pct,
    )
    return True

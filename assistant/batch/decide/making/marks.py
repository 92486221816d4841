"""How far it is to target, high mark, first look and hopper, and what mends a dough past the high mark."""

from collections.abc import Iterable

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.additions import ask_addition
from assistant.batch.record.batch import HALF_GRAM, Batch, Standing
from assistant.batch.record.phases import Phase
from assistant.dough import hydration
from assistant.dough.hydration import round_down, water_for_g
from assistant.dough.ingredients import Addition, additions_water_g
from assistant.dough.lots import Forecast
from assistant.dough.yields import Rescue, mended

FAR_POINTS = 2.0
"""A dough this many points outside low and high is sooner an account that lacks something.

Common practice, no source.
"""
BEYOND_SHARE = 0.25
"""Of what the hopper holds: to take more out than this share is no rescue (common practice, no source)."""

WET_STEP_PCT = 1.0
"""Points of hydration by which a wet crumb is taken down at a time (common practice, no source)."""


def say_marks(d: Draft, *, looked_before: bool, moved: bool = False) -> None:
    """Say how far it is to the next mark, and what to do where one is reached.

    Marks are the target, then high. The first look at the crumb is a call, not a mark: it comes once, when
    its water is reached (`looked_before`: it was before). `moved`: flour or target changed, and that water
    with it.
    """
    batch = d.state.batch
    if batch is None or _said_of_lot(d, batch):
        return
    match batch.standing:
        case Standing.SHORT:
            _say_short_of_target(d, batch, looked_before=looked_before, moved=moved)
        case Standing.ON_TARGET:
            _say_reached(d, batch, "on_target")
        case Standing.PAST_TARGET:
            to_target, to_high = batch.to_pour_g(batch.target_pct), batch.to_pour_g(batch.high_pct)
            d.say("over_target", grams=-to_target, to_high=to_high)
            _say_mix(d, batch)
        case Standing.AT_HIGH:
            _say_reached(d, batch, "at_high")
        case Standing.OVER_HIGH:
            say_rescue(d, batch)


def _said_of_lot(d: Draft, batch: Batch) -> bool:
    """Whether what is poured to goes by the lot; says how far it is, or sends to mixing where it is in."""
    to_next, over_high = batch.to_next_g, batch.standing is Standing.OVER_HIGH
    if batch.pour_to_pct is None or over_high:
        return False
    if to_next > HALF_GRAM:
        d.say("left", grams=to_next)
    elif to_next >= -HALF_GRAM or batch.standing is Standing.SHORT:
        _say_mix(d, batch)
    else:
        return False
    return True


def _say_short_of_target(d: Draft, batch: Batch, *, looked_before: bool, moved: bool) -> None:
    if batch.held:
        # The crumb was wet at the target: asking for the target's water again would undo the flour put in.
        _say_mix(d, batch)
        return
    d.say("left", grams=batch.to_pour_g(batch.target_pct))
    to_first = batch.to_first_pour_g
    if looked_before or batch.looked:
        return
    if to_first <= HALF_GRAM:
        _say_mix(d, batch)
    elif moved:
        d.say("first_pour", grams=to_first)


def _say_reached(d: Draft, batch: Batch, mark: str) -> None:
    """A mark is reached: in one breath with the mix that follows, where nothing else comes before it."""
    if _is_to_mix(batch) and not batch.to_come:
        d.say(f"{mark}_mix")
        return
    d.say(mark)
    _say_mix(d, batch)


def _say_mix(d: Draft, batch: Batch) -> None:
    """Send the cook to mixing, where it is time for it, an addition that is not in yet being asked for."""
    if _is_to_mix(batch) and not ask_addition(d):
        d.say("mix_then_squeeze")


def is_far_outside(batch: Batch, forecast: Forecast | None) -> bool:
    """Whether the water is far outside low and high, and not where the lot's own batches end."""
    below = batch.to_g(max(0.0, batch.low_pct - FAR_POINTS)) > HALF_GRAM
    above = batch.to_g(batch.high_pct + FAR_POINTS) < -HALF_GRAM
    if not (below or above):
        return False
    usual = forecast is not None and forecast.known
    return forecast is None or not (usual and forecast.low_pct <= batch.hydration_pct <= forecast.high_pct)


def _is_to_mix(batch: Batch) -> bool:
    """Whether mixing is next: not while it is going on, nor when it was done or the dough is out."""
    return batch.phase in (Phase.POURING, Phase.RESTING)


def first_look_reached(batch: Batch) -> bool:
    """Whether the water after which the crumb is first looked at is in."""
    return batch.to_first_pour_g <= HALF_GRAM


def rescue_to(batch: Batch, pct: float) -> Rescue:
    """What brings the dough, additions to come with it, down to `pct`."""
    water = batch.water_g + batch.to_come_water_g
    beside = sum((one.grams - one.water_g for one in batch.to_come), batch.dry_g)
    return mended(batch.flour_g, water, pct, batch.hopper_g, beside_g=beside)


def over_with(found: Rescue, batch: Batch) -> float:
    """What the hopper would not hold (g) with that flour in whole grams; negative: so much room is left."""
    return found.dough_g - found.flour_g + found.whole_g - batch.hopper_g


def wet_mark_pct(batch: Batch) -> float:
    """Hydration (%) that a crumb called wet is taken down to: one step, not below low."""
    return max(batch.low_pct, batch.hydration_pct - WET_STEP_PCT)


def wet_rescue(batch: Batch) -> Rescue | None:
    """The flour that a crumb called wet wants; None where the target is not in yet."""
    return None if batch.standing is Standing.SHORT else rescue_to(batch, wet_mark_pct(batch))


def flour_asked_for_g(batch: Batch) -> float:
    """Flour (g) that the station asked for last; 0 where it asked for none."""
    found = wet_rescue(batch) if batch.crumb == "wet" else rescue_to(batch, batch.high_pct)
    return 0.0 if found is None else out_and_flour_g(found, batch)[1]


def out_and_flour_g(found: Rescue, batch: Batch) -> tuple[float, float]:
    """Dough to take out first (g; 0: the hopper holds it), and the flour that the rest wants (g)."""
    return (
        found.with_room_made(batch.product_g) if over_with(found, batch) > HALF_GRAM else (0.0, found.whole_g)
    )


def say_rescue(d: Draft, batch: Batch) -> None:
    """Over high: the flour that mends it, and what is to come out of the hopper for it."""
    found, grams = rescue_to(batch, batch.high_pct), -batch.to_pour_g(batch.high_pct)
    out, flour = out_and_flour_g(found, batch)
    if out > batch.hopper_g * BEYOND_SHARE:
        d.say("rescue_beyond", grams=grams)
    elif out > 0:
        d.say("rescue_over_hopper", flour=flour, over=out)
    else:
        d.say("rescue_fits", grams=grams, flour=flour)


def say_hopper(d: Draft) -> None:
    """Warn where flour and the target's water no longer fit the hopper.

    Over high what is said of the rescue speaks of the hopper.
    """
    batch = d.state.batch
    if batch is None or batch.standing is Standing.OVER_HIGH:
        return
    product = batch.full_g(batch.target_pct)
    if product > batch.hopper_g + HALF_GRAM:
        d.say("hopper_over", product=product, hopper=batch.hopper_g, flour=most_flour_g(batch))


def over_hopper_g(batch: Batch, more_flour_g: float) -> float:
    """What the hopper would not hold (g) with more flour in and its water to the target; 0: it holds it."""
    to_pour = batch.to_pour_g(batch.target_pct)
    water = max(0.0, to_pour + water_for_g(more_flour_g, batch.target_pct)) - max(0.0, to_pour)
    return max(0.0, batch.full_g(batch.target_pct) + more_flour_g + water - batch.hopper_g)


def most_flour_g(batch: Batch) -> float:
    """Most flour (g, a multiple of 5) whose dough at the target, additions included, the hopper holds."""
    beside = sum((one.grams - one.water_g for one in batch.to_come), batch.dry_g)
    return _fitting_g(batch.hopper_g, batch.target_pct, 100.0 * beside / batch.flour_g)


def flour_that_fits_g(hopper_g: float, target_pct: float, per_100: Iterable[Addition]) -> float:
    """Most flour (g, a multiple of 5) of a batch to be; `per_100`: its additions to 100 g of flour."""
    brought = tuple(per_100)
    beside = sum((one.grams for one in brought), 0.0) - additions_water_g(brought)
    return _fitting_g(hopper_g, target_pct, beside)


def _fitting_g(hopper_g: float, target_pct: float, beside_pct: float) -> float:
    return round_down(hydration.most_flour_g(hopper_g, target_pct + beside_pct), 5.0)

"""How far it is to target, high mark, first look and hopper, and what mends a dough past the high mark."""

import math

from assistant.batch.decide.draft import Draft
from assistant.batch.record.phases import Phase
from assistant.batch.record.state import HALF_GRAM, Batch, Standing
from assistant.dough import hydration
from assistant.dough.hydration import rescue_flour_g, round_down
from assistant.dough.lots import Forecast

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
    if batch is None:
        return
    match batch.standing:
        case Standing.SHORT:
            _say_short_of_target(d, batch, looked_before=looked_before, moved=moved)
        case Standing.ON_TARGET:
            d.say("on_target_mix" if _is_to_mix(batch) else "on_target")
        case Standing.PAST_TARGET:
            d.say("over_target", grams=-batch.to_target_g, to_high=batch.to_high_g)
            _say_mix(d, batch)
        case Standing.AT_HIGH:
            d.say("at_high_mix" if _is_to_mix(batch) else "at_high")
        case Standing.OVER_HIGH:
            say_rescue(d, batch)


def _say_short_of_target(d: Draft, batch: Batch, *, looked_before: bool, moved: bool) -> None:
    if batch.held:
        # The crumb was wet at the target: asking for the target's water again would undo the flour put in.
        _say_mix(d, batch)
        return
    d.say("left", grams=batch.to_target_g)
    to_first = batch.to_first_pour_g
    if looked_before or batch.looked:
        return
    if to_first <= HALF_GRAM:
        _say_mix(d, batch)
    elif moved:
        d.say("first_pour", grams=to_first)


def _say_mix(d: Draft, batch: Batch) -> None:
    """Send the cook to mixing, where it is time for it."""
    if _is_to_mix(batch):
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


def flour_down_to_g(batch: Batch, pct: float) -> float:
    """Flour (g, whole, rounded up) that brings the dough down to `pct`; 0 where it is not above."""
    return float(math.ceil(rescue_flour_g(batch.flour_g, batch.water_g, pct) - 1e-6))


def wet_flour_g(batch: Batch) -> float:
    """Flour (g) that a crumb called wet wants: one step down, not below low.

    0 where the target is not in yet.
    """
    if batch.standing is Standing.SHORT:
        return 0.0
    return flour_down_to_g(batch, max(batch.low_pct, batch.hydration_pct - WET_STEP_PCT))


def flour_asked_for_g(batch: Batch) -> float:
    """Flour (g) that the station asked for last; 0 where it asked for none."""
    return wet_flour_g(batch) if batch.crumb == "wet" else flour_down_to_g(batch, batch.high_pct)


def say_rescue(d: Draft, batch: Batch) -> None:
    """Over high: the flour that mends it, and what is to come out of the hopper for it."""
    flour = flour_down_to_g(batch, batch.high_pct)
    over = batch.product_g + flour - batch.hopper_g
    if over > batch.hopper_g * BEYOND_SHARE:
        d.say("rescue_beyond", grams=-batch.to_high_g)
    elif over > HALF_GRAM:
        d.say("rescue_over_hopper", flour=flour, over=over)
    else:
        d.say("rescue_fits", grams=-batch.to_high_g, flour=flour)


def say_hopper(d: Draft) -> None:
    """Warn where flour and the target's water no longer fit the hopper.

    Over high what is said of the rescue speaks of the hopper.
    """
    batch = d.state.batch
    if batch is None or batch.standing is Standing.OVER_HIGH:
        return
    product = batch.product_g + max(0.0, batch.to_target_g)
    if product > batch.hopper_g + HALF_GRAM:
        d.say("hopper_over", product=product, hopper=batch.hopper_g, flour=most_flour_g(batch))


def most_flour_g(batch: Batch) -> float:
    """Most flour (g, a multiple of 5) whose dough at the target, additions included, the hopper holds."""
    dry_additions_pct = 100.0 * batch.dry_g / batch.flour_g
    return round_down(hydration.most_flour_g(batch.hopper_g, batch.target_pct + dry_additions_pct), 5.0)

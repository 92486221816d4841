"""How much water goes in before each look at the crumb: the one place where it is decided. Pure.

The station, `crumbcall lots` and the benchmark of the flour memory all ask here. The first pour stays below
the end with 95 %. After "dry" the next pour goes to where the crumb is most likely ready: the likely end,
given that it lies above what was dry, and half the width of ready beyond it.
"""

from typing import TypeGuard

from assistant.dough.hydration import round_down, water_for_g
from assistant.dough.lots import Forecast

POUR_STEP_G = 5.0
"""A first pour is named in multiples of this (g)."""
KNOWN_WITHIN_PCT = 3.0
"""A lot is known well enough to pour on by where its 90 % interval is no wider than this (points).

Wider than that, the likely end is no better guess than the target.
"""
WET_SHARE = 0.2
"""Of batches poured on to a lot's likely end, at most this share may be expected to come out wet."""
LEAST_STEP_PCT = 0.25
"""Less than this (% of the flour) is not worth a mix and a squeeze."""


def first_water_pct(forecast: Forecast, target_pct: float, share: float) -> float:
    """Hydration (%) at which the crumb is first looked at: see `first_water_g`."""
    usual = target_pct if forecast.known else target_pct * share
    return max(0.0, min(forecast.safe_pct, usual))


def first_water_g(flour_g: float, target_pct: float, share: float, forecast: Forecast | None = None) -> float:
    """Water (g, a multiple of `POUR_STEP_G`) in the dough when its crumb is first looked at.

    Of a lot that is known: what its own history calls safe, not past the target. Else `share` of the target's
    water (0 to 1), and never past what other lots call safe.
    """
    pct = target_pct * share if forecast is None else first_water_pct(forecast, target_pct, share)
    return round_down(water_for_g(flour_g, pct), POUR_STEP_G)


def first_pour_g(first_water: float, brought_g: float) -> float:
    """Water (g, a multiple of `POUR_STEP_G`) to pour for that, where wet ingredients bring some of it (g)."""
    return max(0.0, round_down(first_water - brought_g, POUR_STEP_G))


def is_well_known(forecast: Forecast | None) -> TypeGuard[Forecast]:
    """Whether the next pour goes by what is known of the lot, or of others like it, not by the target."""
    return forecast is not None and forecast.high_pct - forecast.low_pct <= KNOWN_WITHIN_PCT


def after_dry_pct(
    dry_pct: float,
    forecast: Forecast | None,
    *,
    target_pct: float,
    high_pct: float,
    step_pct: float,
    again: bool,
) -> float:
    """Hydration (%) to pour to after a crumb that was dry at `dry_pct`; never past `high_pct`.

    Of a lot that is well known: the middle of where it is likely ready. Else the target, and from there on by
    steps. `again`: it was dry before in this batch, so that no more than `step_pct` (% of the flour) goes in
    at once.
    """
    if is_well_known(forecast):
        aim = _likely_ready_pct(forecast, dry_pct)
        aim = max(dry_pct + LEAST_STEP_PCT, min(aim, dry_pct + step_pct) if again else aim)
    elif dry_pct < target_pct:
        aim = target_pct
    else:
        aim = dry_pct + step_pct
    return max(dry_pct, min(aim, high_pct))


def _likely_ready_pct(forecast: Forecast, dry_pct: float) -> float:
    """Where a crumb that was dry at `dry_pct` is likeliest ready (%), to the cook who judges it."""
    below = forecast.ends.below(dry_pct)

    def end(share: float) -> float:
        return forecast.ends.quantile(min(1.0 - 1e-6, below + share * (1.0 - below)))

    # A cook who judges late calls it ready later, but it is not wet later: between the two is the middle.
    aim = end(0.5) + (forecast.window_pct + forecast.bias_pct) / 2.0
    return min(aim, end(WET_SHARE) + forecast.window_pct)

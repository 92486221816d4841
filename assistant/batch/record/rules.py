"""The house rules of a batch: figures that a kitchen sets for itself.

All defaults are common practice without a published source; the kitchen's own figures win.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BatchRules:
    """Figures that `decide` works with.

    Percent are hydration (water per 100 of flour); masses g; times s; `water_temperature_c` turns said
    volumes into mass. `first_pour_share`: share of the target's water after which the crumb is first looked
    at. `step_pct`: most water of a top-up, percent of the flour. `warn_s`: a mix is announced so long before
    its crumb check. `ring_every_s`: a ringing timer calls again after so long.
    `portion_g`: raw. `cook_s`: of a shape that has no time of its own. `rest_calls_s`: a rest from so long on is
    called at half-time and in its last minute, 0: none is; `prep_calls`: it is told to those who wait for it.
    `tray_warn_s`: a tray is called so long before its limit, 0: not.
    """

    target_pct: float = 31.0
    low_pct: float = 30.0
    high_pct: float = 33.0
    hopper_g: float = 3000.0
    first_pour_share: float = 0.72
    first_mix_s: float = 120.0
    target_mix_s: float = 60.0
    top_up_mix_s: float = 30.0
    rest_s: float = 90.0
    step_pct: float = 1.0
    question_s: float = 10.0
    warn_s: float = 30.0
    ring_every_s: float = 15.0
    water_temperature_c: float = 20.0
    portion_g: float = 120.0
    cook_s: float = 360.0
    rest_calls_s: float = 600.0
    prep_calls: bool = False
    tray_warn_s: float = 1800.0

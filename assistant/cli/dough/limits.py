"""`crumbcall dough weighing|noise|keeping`: what published tables say of scale, noise and keeping."""

import click

from assistant.cli.dough.answers import Answer, answers, flour_argument
from assistant.cli.quantity import Quantity
from assistant.dough.calculators import keeping as kept
from assistant.dough.calculators import noise_hours
from assistant.dough.calculators.scale_class import (
    cell_creep,
    class_iii_error_g,
    hb44_tolerance,
    hydration_error_points,
)
from assistant.dough.ranges import (
    NOISE_DBA,
    PH,
    SAMPLE_G,
    SCALE_INTERVAL_G,
    WATER_ACTIVITY,
    WATER_CONTENT_PCT,
)
from assistant.errors import DoughError


@answers("weighing")
@flour_argument
@click.argument("load", type=Quantity(SAMPLE_G), metavar="LOAD_G")
@click.argument("interval", type=Quantity(SCALE_INTERVAL_G), metavar="INTERVAL_G")
def weighing(flour: float, load: float, interval: float) -> Answer:
    """How far a scale of class III may be off at a load, and the hydration that this is of the flour.

    LOAD_G is all that is on the scale, INTERVAL_G its steps. By UK SI 1995/1907, NIST Handbook 44 and OIML
    R 60-1; a scale that is not of this class promises less.

    Example: crumbcall dough weighing 3000 3930 5
    """
    new = class_iii_error_g(load, interval)
    used = class_iii_error_g(load, interval, in_service=True)
    points = hydration_error_points(flour, used)
    us = hb44_tolerance(load, interval)
    creep, late = (interval * one for one in cell_creep(load / interval))
    text = (
        f"{load:g} g in steps of {interval:g} g: {new:g} g off when it is new, {used:g} g in service; "
        f"{points:.2f} points of hydration in {flour:g} g of flour.\n"
        f"In service in the United States: {us:g} g. Under it a load cell of class C may creep "
        f"{creep:.3f} g in half an hour, {late:.3f} g in its last ten minutes: zero the jug before each pour."
    )
    values = {"initial_g": new, "in_service_g": used, "hydration_points": points}
    return text, values | {"hb44_g": us, "creep_g": creep, "creep_late_g": late}


@answers("noise")
@click.argument("level", type=Quantity(NOISE_DBA), metavar="DBA")
def noise(level: float) -> Answer:
    """Hours a day that a noise is permitted at work in the United States (29 CFR 1910.95).

    Example: crumbcall dough noise 92
    """
    found = noise_hours.hours(level)
    text = (
        f"{found:.2f} hours a day at {level:g} dBA (29 CFR 1910.95); Europe allows less, local codes count."
    )
    if level >= noise_hours.ACTION_DBA:
        text += f" From {noise_hours.ACTION_DBA:g} dBA over a shift: wear hearing protection."
    return text, {"hours": found, "dba": level}


@answers("keeping")
@click.argument("activity", type=Quantity(WATER_ACTIVITY), metavar="WATER_ACTIVITY")
@click.option("--ph", type=Quantity(PH), metavar="PH", help="For the US Food Code's table B.")
@click.option(
    "--moisture",
    type=Quantity(WATER_CONTENT_PCT),
    metavar="PCT",
    help="Of the pasta, %: for Italy's fresh pre-packed pasta.",
)
def keeping(activity: float, ph: float | None, moisture: float | None) -> Answer:
    """What water activity says of pasta: the US Food Code's table B, and Italy's fresh pre-packed pasta.

    Information for a talk with the local authority: it never says that a food is safe.

    Example: crumbcall dough keeping 0.95 --ph 6 --moisture 31
    """
    if ph is None and moisture is None:
        raise DoughError("keeping needs --ph, for the Food Code, or --moisture, for Italy; give one or both.")
    lines, values = [], dict[str, object]()
    if ph is not None:
        control = kept.temperature_control(activity, ph)
        values["control"] = control
        lines.append(
            "Food Code 1-201.10 table B, not heat-treated: "
            + (
                "product assessment required; keep it cold until then."
                if control == "product assessment"
                else "the table asks for no time and temperature control (TCS); local code decides."
            )
        )
    if moisture is not None:
        fresh = kept.fresh_in_italy(moisture, activity)
        values["fresh_in_italy"] = fresh
        lines.append(
            f"Italy, DPR 187/2001 art. 9 c. 5: {'within' if fresh else 'outside'} moisture and water "
            "activity of fresh pre-packed pasta, which is pasteurised and kept at +4 C."
        )
    return "\n".join(lines), values

"""Temperature of dough and water by heat balance (degrees Celsius), with the machine's own heat of mixing.

Specific heats: flour 1.76, water 4.18 kJ/kg K: engineering thermodynamics textbook, 8th edition, problem
5-157. That problem has a heat of hydration of 15 kJ/kg, which would warm the dough by 6.4 C: measure it
instead (`heat_of_mixing_kj_per_kg`), since friction depends on the machine.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from assistant.dough.ranges import (
    CELSIUS,
    DOUGH_C,
    FLOUR_G,
    FOUND_WATER_C,
    HEAT_KJ_PER_KG,
    ICE_C,
    WATER_C,
    WATER_TO_TEMPER_G,
)
from assistant.errors import DoughError

FLOUR_KJ_PER_KG_K = 1.76
WATER_KJ_PER_KG_K = 4.18
ICE_KJ_PER_KG = 334.6
"""Latent heat of ice: 144 Btu/lb (bakingbusiness.com/articles/58994)."""
COOLING_KJ_PER_KG_K = 4.186
"""Specific heat of water in the balance with ice."""
ICE_KJ_PER_KG_K = 2.09
"""Specific heat of ice from a freezer's cold to 0 C: from memory."""
FIRMEST_C = (35.0, 45.0)
"""Barrel (C) at which cooked pasta was firmest: Debbouz and Doetkott 1996, Cereal Chem. 73:672
(secondary)."""


def water_temperature_c(
    flour_g: float, flour_c: float, water_g: float, dough_c: float, heat_kj_per_kg: float = 0.0
) -> float:
    """Temperature (C) of the water that makes dough of `dough_c`.

    `heat_kj_per_kg`: heat of mixing per kg of dough. It may come out below 0 or above 100: then water alone
    can't do it, see `usable_water`. Raises DoughError where it is so far out that one of the figures must be
    wrong.
    """
    flour, water = _heats(flour_g, water_g)
    heat = HEAT_KJ_PER_KG.check(heat_kj_per_kg) * (flour_g + water_g)
    wanted = DOUGH_C.check(dough_c) * (flour + water)
    return FOUND_WATER_C.check((wanted - flour * _celsius("flour", flour_c) - heat) / water)


def usable_water(celsius: float) -> str | None:
    """Why water of this temperature can't be had or should not be used; None where it can.

    4 C: cold tap or fridge. 60 C: hot water scalds and wheat starch begins to swell (common practice, no
    source).
    """
    if celsius < 0:
        return "colder than water can be: cool the flour, or let ice replace part of the water"
    if celsius < 4:
        return "colder than a fridge: let ice replace part of the water"
    if celsius > 60:
        return "too hot to pour: warm the flour instead"
    return None


def too_warm(dough_c: float) -> str | None:
    """A word about a dough that comes near the 50 C at which gluten is damaged; None where it stays below."""
    if dough_c <= FIRMEST_C[1]:
        return None
    return (
        f"{dough_c:.1f} C is close to 50 C, where gluten is damaged: {FIRMEST_C[0]:g} to {FIRMEST_C[1]:g} C "
        "in the barrel made the firmest pasta (Debbouz and Doetkott 1996, read at second hand)"
    )


def heat_of_mixing_kj_per_kg(
    flour_g: float, flour_c: float, water_g: float, water_c: float, dough_c: float
) -> float:
    """Heat of mixing (kJ per kg of dough), friction and wetting together, from the dough as measured.

    Inverse of `water_temperature_c` in the heat. Raises DoughError where it comes out as no mixer's heat.
    """
    flour, water = _heats(flour_g, water_g)
    gained = DOUGH_C.check(dough_c) * (flour + water)
    gained -= flour * _celsius("flour", flour_c) + water * _celsius("water", water_c)
    return HEAT_KJ_PER_KG.check(gained / (flour_g + water_g))


@dataclass(frozen=True, slots=True)
class LearnedHeat:
    """Heat of mixing of one machine."""

    mean: float
    """Mean of the batches (kJ per kg of dough)."""
    error: float | None
    """Standard error of the mean (kJ/kg); None with one batch, which says nothing of the spread."""
    batches: int
    """Batches that it rests on."""


def learned_heat(measured: Sequence[float]) -> LearnedHeat | None:
    """What measured batches say of a machine's heat of mixing (kJ/kg); None where nothing was measured."""
    count = len(measured)
    if count == 0:
        return None
    mean = sum(HEAT_KJ_PER_KG.check(one) for one in measured) / count
    if count == 1:
        return LearnedHeat(mean, None, 1)
    variance = sum((one - mean) ** 2 for one in measured) / (count - 1)
    return LearnedHeat(mean, sqrt(variance / count), count)


def three_factor_water(dough: float, room: float, flour: float, friction: float) -> float:
    """Water by the bakers' rule of three, any one degree throughout: 3 dough - (room + flour + friction).

    Only a comparison: it takes the three masses for equal, and is 5 C off at 31 % hydration.
    """
    return 3.0 * dough - (room + flour + friction)


def ice_g(water_g: float, tap_c: float, wanted_c: float, ice_c: float = 0.0) -> float:
    """Ice (g) that replaces part of `water_g`, so that all of it is at `wanted_c`; the total stays `water_g`.

    `ice_c`: the ice itself; from a freezer it takes up more heat than at 0 C. Raises DoughError where the
    water would have to be warmed, or frozen.
    """
    WATER_TO_TEMPER_G.check(water_g)
    WATER_C.check(tap_c, "tap water")
    WATER_C.check(wanted_c, "wanted water")
    if wanted_c > tap_c:
        raise DoughError(f"water wanted at {wanted_c:g} C from {tap_c:g} C: ice only cools; warm the water.")
    cooling, cold = COOLING_KJ_PER_KG_K, ICE_KJ_PER_KG_K * -ICE_C.check(ice_c)
    return water_g * cooling * (tap_c - wanted_c) / (ICE_KJ_PER_KG + cold + cooling * tap_c)


def celsius(fahrenheit: float) -> float:
    """Degrees Celsius of degrees Fahrenheit."""
    return (fahrenheit - 32.0) / 1.8


def fahrenheit(celsius: float) -> float:
    """Degrees Fahrenheit of degrees Celsius."""
    return celsius * 1.8 + 32.0


def _heats(flour_g: float, water_g: float) -> tuple[float, float]:
    """Heat capacities of flour and water (J/K)."""
    return FLOUR_G.check(flour_g) * FLOUR_KJ_PER_KG_K, WATER_TO_TEMPER_G.check(water_g) * WATER_KJ_PER_KG_K


def _celsius(what: str, value: float) -> float:
    return CELSIUS.check(value, f"{what} temperature")

"""The quantities that calculators and commands take: unit, least, most, and where each bound comes from.

One row a quantity. The command line reads its arguments by these rows, the functions of this package check
their arguments by them, and the settings take their bounds from them. A bound without a source is common
practice or an assumption of ours, and its row says so. A batch that is already written is never refused:
`recorded`.
"""

import math
from dataclasses import dataclass

from assistant.errors import DoughError


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """What a quantity may be."""

    what: str
    """The quantity in a cook's word."""
    unit: str
    """Unit of every figure here; empty for a count or a speed."""
    least: float
    """Least that is allowed, itself included."""
    most: float
    """Most that is allowed, itself included."""
    basis: str
    """Where the two bounds come from."""
    whole: bool = False
    """Whether only whole numbers are allowed."""
    water: bool = False
    """Whether it is a mass of water, which may be given as a volume too."""

    @property
    def bounds(self) -> tuple[float, float]:
        """Least and most."""
        return self.least, self.most

    @property
    def allowed(self) -> str:
        """The range in words: "from 15 to 60 %"."""
        number = "a whole number " if self.whole else ""
        return f"{number}from {self.least:g} to {self.most:g} {self.unit}".rstrip()

    def check(self, value: float, what: str | None = None) -> float:
        """Return the value. Raises DoughError outside the range; `what` names the quantity more closely."""
        if self.least <= value <= self.most and not (self.whole and value != int(value)):
            return value
        found = f"{value:g}"
        if self.least <= float(found) <= self.most:  # rounded for people it would look allowed
            found = repr(value)
        raise self.refusal(f"{found} {self.unit}".rstrip(), what)

    def refusal(self, found: str, what: str | None = None, advice: str = "give another figure") -> DoughError:
        """The error to raise for what was found instead: one line, with what is allowed and what to do."""
        return DoughError(f"{what or self.what} {found}: {self.allowed} is allowed; {advice}.")


_A_SLIP = "assumption of ours: more is a slip of the keyboard"
MOST_HOPPER_G = 50_000.0
"""No bench machine holds more: assumption of ours; 3,000 g is usual (common practice, no source)."""
MOST_G = 2 * MOST_HOPPER_G
"""Most of anything that is weighed for one dough: assumption of ours, twice the largest hopper."""

FLOUR_G = Range(
    what="flour",
    unit="g",
    least=1,
    most=MOST_G,
    basis="a trial dough in a small bowl to twice the largest hopper; " + _A_SLIP,
)
BATCH_FLOUR_G = Range(
    what="flour of a batch",
    unit="g",
    least=100,
    most=MOST_HOPPER_G,
    basis="assumption of ours: less is a misheard number, more fits no hopper",
)
HOPPER_G = Range(
    what="hopper",
    unit="g",
    least=100,
    most=MOST_HOPPER_G,
    basis="3,000 g of product is usual (common practice, no source)",
)
WATER_G = Range(what="water", unit="g", least=0, most=MOST_G, basis=_A_SLIP, water=True)
WATER_ML = Range(what="water", unit="ml", least=0, most=MOST_G, basis=_A_SLIP)
WATER_TO_TEMPER_G = Range(
    what="water",
    unit="g",
    least=1,
    most=MOST_G,
    basis="without water nothing is cooled; " + _A_SLIP,
    water=True,
)
INGREDIENT_G = Range(what="ingredient", unit="g", least=0, most=MOST_G, basis=_A_SLIP)
SAMPLE_G = Range(
    what="sample",
    unit="g",
    least=0.5,
    most=10_000,
    basis="a moisture test takes some 5 g, with its dish some 25 g (from memory); " + _A_SLIP,
)
DISH_G = Range(what="dish", unit="g", least=0, most=10_000, basis="assumption of ours, as the sample's")
PORTION_G = Range(
    what="portion",
    unit="g",
    least=10,
    most=1000,
    basis="a taste to a tray for eight; a main course is in `yields` (common practice, no source)",
)
PORTIONS = Range(what="portions", unit="", least=1, most=9999, basis=_A_SLIP, whole=True)

TARGET_PCT = Range(
    what="target",
    unit="%",
    least=15,
    most=60,
    basis="30 to 33 % is usual in extruded pasta (common practice, no source); " + _A_SLIP,
)
HYDRATION_PCT = Range(
    what="hydration",
    unit="%",
    least=0,
    most=200,
    basis="assumption of ours: more water than that is a batter",
)
FLOUR_MOISTURE_PCT = Range(
    what="flour moisture",
    unit="%",
    least=0,
    most=30,
    basis="0 is dry matter; the law's most is 14.5 (Italy) and 15 % (United States), wetter flour spoils",
)
LOT_DELIVERED_KG = Range(
    what="flour of a lot as delivered",
    unit="kg",
    least=0.5,
    most=5000,
    basis="a packet to five pallets: an assumption of ours",
)
LOT_MOISTURE_PCT = Range(
    what="moisture of a lot",
    unit="%",
    least=5,
    most=20,
    basis="flour as delivered: 12.67 % (USDA SR28 NDB 20466) to the law's 15 %, and some points of room",
)
DOUGH_MOISTURE_PCT = Range(
    what="dough moisture",
    unit="%",
    least=0,
    most=80,
    basis="what 200 % of water on damp flour comes to (derived)",
)
WATER_CONTENT_PCT = Range(what="water content", unit="%", least=0, most=100, basis="by definition")
LOSS_PCT = Range(
    what="loss",
    unit="%",
    least=0,
    most=50,
    basis="what is usual is in `yields`; " + _A_SLIP,
)

CELSIUS = Range(
    what="temperature",
    unit="C",
    least=-30,
    most=100,
    basis="from a freezer to boiling water: nothing else goes into a dough",
)
DOUGH_C = Range(
    what="dough temperature",
    unit="C",
    least=0,
    most=50,
    basis="above 50 C gluten is damaged (secondary source; AACC 66-41.01 stays below), below 0 it freezes",
)
AIR_HUMIDITY_PCT = Range(
    what="humidity of the air",
    unit="%",
    least=10,
    most=95,
    basis="isotherms hold from 10 to 95 %; above that flour moulds (assumption of ours)",
)
STORE_C = Range(
    what="store",
    unit="C",
    least=0,
    most=50,
    basis="a cold room to a hot loft; assumption of ours",
)
GRANULATION_UM = Range(
    what="granulation",
    unit="µm",
    least=50,
    most=1000,
    basis="flour to the coarsest semolina; trade pages have up to 800 µm",
)
ICE_C = Range(
    what="ice", unit="C", least=-40, most=0, basis="a deep freezer to melting ice: an assumption of ours"
)
WATER_C = Range(what="water", unit="C", least=0, most=100, basis="liquid at the pressure of the air")
VOLUME_C = Range(
    what="water", unit="C", least=0, most=60, basis="rows of the table of densities in `amounts`"
)
FOUND_WATER_C = Range(
    what="water would have to be at",
    unit="C",
    least=-60,
    most=160,
    basis="assumption of ours: a balance that ends further out was given a wrong figure",
)
HEAT_KJ_PER_KG = Range(
    what="heat of mixing",
    unit="kJ/kg",
    least=-10,
    most=30,
    basis="a textbook has 15 kJ/kg; 30 would warm a dough of 31 % by 13 C, and a cold bowl takes some away: "
    "assumption of ours",
)
DIE_KJ_PER_KG = Range(
    what="heat at the die",
    unit="kJ/kg",
    least=0,
    most=200,
    basis="of the order of 70 kJ/kg, from press to press 1:5 (Abecassis et al. 1994, secondary)",
)

EXIT_C = Range(
    what="temperature out of the die",
    unit="C",
    least=10,
    most=90,
    basis="a cold press to one that cooks the dough; assumption of ours",
)
EXTRUDE_G_PER_MIN = Range(
    what="dough through the die",
    unit="g/min",
    least=10,
    most=2000,
    basis="a hand press to more than a bench machine does; assumption of ours",
)

DRYING_PCT = Range(
    what="moisture of the pasta",
    unit="%",
    least=1,
    most=60,
    basis="dried pasta to a wet dough; assumption of ours",
)
WATER_ACTIVITY = Range(what="water activity", unit="", least=0, most=1, basis="by definition")
PH = Range(what="pH", unit="", least=0, most=14, basis="of foods; by convention")
NOISE_DBA = Range(
    what="noise", unit="dBA", least=80, most=115, basis="29 CFR 1910.95: table G-16 ends at 115 dBA"
)
SCALE_INTERVAL_G = Range(
    what="interval of the scale", unit="g", least=0.1, most=50, basis="kitchen scales; assumption of ours"
)
CUTTER_SPEED = Range(
    what="speed", unit="", least=0.1, most=1000, basis="as the machine counts it; assumption of ours"
)
LENGTH_MM = Range(
    what="length", unit="mm", least=1, most=1000, basis="from grains to long pasta; assumption of ours"
)

LOTS = Range(what="lots", unit="", least=1, most=1000, basis="as many as a table can show", whole=True)
BATCH_NUMBER = Range(
    what="batch number",
    unit="",
    least=1,
    most=999_999,
    basis="more than a journal of a million events holds",
    whole=True,
)
YEAR = Range(what="year", unit="", least=1970, most=9998, basis="what the clock can say", whole=True)
TRAY = Range(what="tray", unit="", least=1, most=999, basis=_A_SLIP, whole=True)
EVENTS = Range(
    what="events", unit="", least=1, most=999_999, basis="a journal of a million events", whole=True
)

LOT_DIGITS = 20
"""Most digits of a lot: assumption of ours, more is a slip."""


def recorded(what: str, value: float, unit: str = "g") -> float:
    """Return a figure of a batch that is running or written, if it is finite and 0 or more.

    Raises DoughError for any other. Any such figure is taken, whatever the calculators' ranges say: a record
    is never refused.
    """
    if not 0 <= value < math.inf:
        raise DoughError(f"{what} {value:g} {unit}: 0 {unit} or more is allowed; measure it again.")
    return value


def recorded_above_zero(what: str, value: float, unit: str = "g") -> float:
    """Return a recorded figure, if it is above 0. Raises DoughError."""
    if not 0 < value < math.inf:
        found, least = f"{value:g} {unit}".rstrip(), f"0 {unit}".rstrip()
        raise DoughError(f"{what} {found}: more than {least} is needed; measure it again.")
    return value

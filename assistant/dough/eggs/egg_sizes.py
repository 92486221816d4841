"""Grams of egg from a count: classes of the EU and the US, shell, white and yolk. Masses g.

EU: S below 53 g, M from 53, L from 63, XL from 73, Regulation (EC) 589/2008 article 4, kept by (EU)
2023/2465 (the figures read in the EU's own summary; the article itself not). Counted with the middle of the
class; S and XL are open to one side, and are taken to be ten grams wide as the others are (assumption of
ours). US: least weight of a dozen, USDA AMS 56.218, 15 to 30 oz in steps of 3 (read in a state's code);
counted with that.

Shell 12, white 58, yolk 30 % of the egg: rounded from the shares that a poultry association gives, white 57
to 63.4, yolk 28 to 30.6, shell 8.1 to 12.4 (read); a small egg has more yolk. So a count is some ten
percent off, and what is weighed is right.
"""

from dataclasses import dataclass

from assistant.dough.amounts import GRAMS_PER
from assistant.dough.ranges import Range

EGGS = Range(
    what="eggs",
    unit="",
    least=1,
    most=2000,
    basis="what the largest flour takes; assumption of ours: more is a slip of the keyboard",
    whole=True,
)
SHELL_SHARE, WHITE_SHARE, YOLK_SHARE = 0.12, 0.58, 0.30
_A_DOZEN = 12
_OPEN_CLASS_G = 10.0


@dataclass(frozen=True, slots=True)
class EggSize:
    """A class of eggs by the weight of one in its shell."""

    name: str
    least_g: float
    most_g: float
    counted_g: float
    """What one is taken to weigh."""


def _of_the_eu(name: str, least_g: float) -> EggSize:
    most_g = least_g + _OPEN_CLASS_G
    return EggSize(name, least_g, most_g, (least_g + most_g) / 2)


def _of_the_us(name: str, dozen_oz: float) -> EggSize:
    one_g, next_g = (ounces * GRAMS_PER["oz"] / _A_DOZEN for ounces in (dozen_oz, dozen_oz + 3))
    return EggSize(f"US {name}", one_g, next_g, one_g)


_EU = (_of_the_eu("S", 43), _of_the_eu("M", 53), _of_the_eu("L", 63), _of_the_eu("XL", 73))
_US = (
    *(_of_the_us("peewee", 15), _of_the_us("small", 18), _of_the_us("medium", 21)),
    *(_of_the_us("large", 24), _of_the_us("extra large", 27), _of_the_us("jumbo", 30)),
)
SIZES = {size.name.lower().replace(" ", "-"): size for size in (*_EU, *_US)}
"""By the name that a command takes: "l", "us-large"."""


@dataclass(frozen=True, slots=True)
class EggContents:
    """What eggs give, out of the shell."""

    whole_g: float
    white_g: float
    yolk_g: float
    least_g: float
    """Whole egg, were each at the lower end of its class."""
    most_g: float
    """Likewise, at the upper end."""


def contents_of(count: int, size: EggSize) -> EggContents:
    """What this many eggs give. Raises DoughError for a count outside its range."""
    EGGS.check(count)
    inside = WHITE_SHARE + YOLK_SHARE
    in_shell_g = count * size.counted_g
    return EggContents(
        whole_g=in_shell_g * inside,
        white_g=in_shell_g * WHITE_SHARE,
        yolk_g=in_shell_g * YOLK_SHARE,
        least_g=count * size.least_g * inside,
        most_g=count * size.most_g * inside,
    )

"""What dough with eggs may be called, in Italy and in the US: information, no legal advice.

Italy, "pasta all'uovo": semolina alone, with at least four whole hen's eggs, not less than 200 g without
shell, a kilo; liquid egg of whole eggs counts by its weight. DPR 187/2001 article 8 (read in the bill and
in a regional guideline; article 9, on fresh pasta, only in part). US, "egg noodles" and the like: at least
5.5 % of the total solids are solids of egg or yolk, 21 CFR 139.150(a) (read in a printed edition); the
standard is of dried products, from semolina, durum flour, farina or flour, and white alone does not count.
Other countries have rules of their own, and none is told. Water of egg: USDA SR28, NDB 01123, 01124, 01125;
of semolina, NDB 20466.
"""

from dataclasses import dataclass

WHOLE_WATER_PCT, WHITE_WATER_PCT, YOLK_WATER_PCT = 76.15, 87.57, 52.31
SEMOLINA_WATER_PCT = 12.67
ITALY_G_PER_KG = 200.0
ITALY_EGGS_PER_KG = 4.0
US_SOLIDS_PCT = 5.5
_KILO_G = 1000.0
_CLOSE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class EggDough:
    """A dough with eggs; masses g."""

    flour_g: float
    whole_g: float = 0.0
    """Whole egg without shell."""
    yolk_g: float = 0.0
    white_g: float = 0.0
    other_solids_g: float = 0.0
    """Of all that is neither flour nor egg."""
    flour_water_pct: float = SEMOLINA_WATER_PCT
    eggs: int | None = None
    """Whole eggs as counted; None: weighed."""

    @property
    def whole_g_per_kg(self) -> float:
        """Whole egg (g) a kilo of flour."""
        return _KILO_G * self.whole_g / self.flour_g

    @property
    def eggs_per_kg(self) -> float | None:
        """Whole eggs a kilo of flour; None: they were weighed."""
        return None if self.eggs is None else _KILO_G * self.eggs / self.flour_g

    @property
    def egg_solids_pct(self) -> float:
        """Solids of whole egg and yolk (% of the total solids)."""
        egg = _solids_g(self.whole_g, WHOLE_WATER_PCT) + _solids_g(self.yolk_g, YOLK_WATER_PCT)
        others = _solids_g(self.white_g, WHITE_WATER_PCT) + self.other_solids_g
        return 100.0 * egg / (egg + others + _solids_g(self.flour_g, self.flour_water_pct))

    @property
    def enough_for_italy(self) -> bool:
        """Whether the eggs suffice for "pasta all'uovo", where the flour is semolina alone."""
        counted = self.eggs_per_kg
        enough = counted is None or counted >= ITALY_EGGS_PER_KG - _CLOSE
        return enough and self.whole_g_per_kg >= ITALY_G_PER_KG - _CLOSE

    @property
    def enough_for_the_us(self) -> bool:
        """Whether the eggs suffice for "egg noodles", where the flour is of wheat and the pasta is dried."""
        return self.egg_solids_pct >= US_SOLIDS_PCT - _CLOSE


def _solids_g(grams: float, water_pct: float) -> float:
    return grams * (1 - water_pct / 100.0)


def whole_g_for_the_us(flour_g: float, flour_water_pct: float = SEMOLINA_WATER_PCT) -> float:
    """Whole egg (g) with which egg solids are just enough for the US, in a dough of flour, egg and water."""
    share = US_SOLIDS_PCT / 100.0
    solids_g = _solids_g(flour_g, flour_water_pct) * share / (1 - share)
    return solids_g / (1 - WHOLE_WATER_PCT / 100.0)

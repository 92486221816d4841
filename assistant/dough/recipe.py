"""A recipe as the batch takes it: its marks, its additions by 100 of flour, its times."""

from dataclasses import dataclass

from assistant.dough.ingredients import Addition


@dataclass(frozen=True, slots=True)
class Share:
    """An addition by share of the flour."""

    name: str
    per_100: float
    """Grams per 100 g of flour."""
    water_pct: float
    """Its water content (% of its own mass)."""

    def of(self, flour_g: float) -> Addition:
        """The addition to this flour (g)."""
        return Addition(self.name, flour_g * self.per_100 / 100.0, self.water_pct)


@dataclass(frozen=True, slots=True)
class RecipePlan:
    """What a recipe sets for a batch. The journal keeps it by the names of its fields."""

    recipe: str
    """Name of the recipe."""
    target_pct: float
    """Hydration aimed at (%), the additions' water counted."""
    low_pct: float
    """Least hydration that extrudes well (%)."""
    high_pct: float
    """Most hydration (%); past it the station asks first."""
    shares: tuple[Share, ...] = ()
    first_mix_s: float | None = None
    """Mix after the first pour (s); None: the kitchen's setting."""
    target_mix_s: float | None = None
    """Mix once the target is reached (s); None: the kitchen's setting."""
    rest_s: float | None = None
    """Rest of a crumb that is ready (s); None: the kitchen's setting."""
    portion_g: float | None = None
    """Raw portion (g); None: the kitchen's setting."""
    allergens: tuple[str, ...] = ()
    """Allergens of all that goes in, as far as they are known."""
    flours: tuple[tuple[str, float], ...] = ()
    """Flours by name, each with its share of the flour (%)."""

    gluten_free: bool = False
    """Whether none of its flours has gluten; False also where that is not known."""
    unmapped: tuple[str, ...] = ()
    """Flours and additions whose allergens are not known, by name."""

    def additions(self, flour_g: float) -> tuple[Addition, ...]:
        """All additions to this flour (g)."""
        return tuple(share.of(flour_g) for share in self.shares)

"""A recipe as the batch takes it: its marks, its additions by 100 of flour, its times."""

from dataclasses import dataclass

from assistant.dough.ingredients import Addition


@dataclass(frozen=True, slots=True)
class Share:
    """An addition by share: grams per 100 g of flour, and its water content (% of its own mass)."""

    name: str
    per_100: float
    water_pct: float

    def of(self, flour_g: float) -> Addition:
        """The addition to so much flour."""
        return Addition(self.name, flour_g * self.per_100 / 100.0, self.water_pct)


@dataclass(frozen=True, slots=True)
class Plan:
    """What a recipe sets for a batch. Marks: hydration percent, additions' water counted; times s; portion g.

    A time that is None is the house's.
    """

    recipe: str
    target_pct: float
    low_pct: float
    high_pct: float
    shares: tuple[Share, ...] = ()
    first_mix_s: float | None = None
    target_mix_s: float | None = None
    rest_s: float | None = None
    portion_g: float | None = None
    allergens: tuple[str, ...] = ()
    flours: tuple[tuple[str, float], ...] = ()

    def additions(self, flour_g: float) -> tuple[Addition, ...]:
        """All additions to so much flour."""
        return tuple(share.of(flour_g) for share in self.shares)

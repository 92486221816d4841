"""The open batch: its account, its marks and its phase, and all that follows from them. Values only."""

from dataclasses import dataclass, replace
from enum import Enum

from assistant.batch.record.clocks.food_rules import FOOD_CODE, FoodRules, Unclean
from assistant.batch.record.commands import Condition, Verdict
from assistant.batch.record.hopper.entries import Contents, Entry, contents_of
from assistant.batch.record.phases import Phase
from assistant.batch.record.press.at_the_die import NOTHING_TOLD, AtTheDie
from assistant.dough.evidence import Squeeze
from assistant.dough.flour.staging import first_pour_g
from assistant.dough.hydration import hydration_pct, water_for_g
from assistant.dough.ingredients import Addition, additions_water_g
from assistant.dough.recipe import RecipePlan

HALF_GRAM = 0.5
"""What no kitchen scale and no cook tells apart from nothing (g)."""


class Standing(Enum):
    """Where the water of a batch is between its marks, to half a gram."""

    SHORT = "short of the target"
    ON_TARGET = "on target"
    PAST_TARGET = "past the target"
    AT_HIGH = "at the high mark"
    OVER_HIGH = "over the high mark"


@dataclass(frozen=True, slots=True)
class MadeOf:
    """What a batch was made of, so that another can be opened like it."""

    flour_g: float
    """Flour that it was opened with (g), as corrected; what was added to mend it is not of the plan."""
    marks: tuple[float, float, float]
    """Target, low and high (percent)."""
    lot: str | None
    plan: RecipePlan | None
    """The recipe."""


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch: its account, its marks and its phase. Masses in g, hydration in percent of the flour."""

    number: int
    opened_at: float
    phase: Phase
    entries: tuple[Entry, ...]
    target_pct: float
    low_pct: float
    high_pct: float
    hopper_g: float
    first_share: float
    """Share of the target's water after which the crumb is first looked at."""
    lot: str | None = None
    crumb: Verdict | None = None
    """The last verdict, until more water or flour goes in."""
    looked: bool = False
    """Whether the crumb was judged at least once."""
    topping: bool = False
    """Whether it was called dry with the target's water in: what follows are top-ups."""
    held: bool = False
    """Whether it was called wet with the target's water in: no more is asked for until it is called dry."""
    pour_to_pct: float | None = None
    """Hydration (%) that was asked for when it was dry, by what is known of the lot; None: the target."""
    die: str | None = None
    die_warm: bool = False
    trays: int = 0
    portions: int = 0
    plan: RecipePlan | None = None
    """The recipe."""
    additions_told: bool = False
    """Whether its additions count when they are told; False: they went in with the first flour."""
    left_out: tuple[str, ...] = ()
    """Additions of the recipe that do not come."""
    mixed: bool = False
    """Whether it was mixed at least once, so that what is taken out is dough."""
    squeezes: tuple[Squeeze, ...] = ()
    """All verdicts with their hydration, oldest first."""
    planned: str | None = None
    """Key of the batch of the day's plan that this one is."""
    granulation: float | None = None
    """Size of the flour's grains (micrometres); None: not known."""
    gluten_free: bool = False
    """Whether it is a dough without gluten, by its recipe or its lot."""
    carried_over: tuple[str, ...] = ()
    """Allergens that batches before left in the machine and that are in none of its own ingredients."""
    conditions: tuple[tuple[Condition, float], ...] = ()
    """What the cook said of kitchen, dough and air: degrees Celsius, or percent."""

    at_die: AtTheDie = NOTHING_TOLD
    """How it goes through the die."""
    food: FoodRules | None = None
    """Rules of food safety that it was opened under; None: its journal is older than they are."""
    unclean_since: float | None = None
    """Since when it makes the machine unclean (s); None: it has not, or the machine was cleaned since."""
    time_certain: bool = True
    """False after a power cut of unknown length since its first wet contact."""

    @property
    def food_rules(self) -> FoodRules:
        """Rules of food safety that it is held against."""
        return self.food or FOOD_CODE

    @property
    def wet_at(self) -> float | None:
        """First wet contact: its first water, or wet ingredient (s); None: it is dry as told."""
        if not self.additions_told and additions_water_g(self._by_recipe) > 0:
            return self.opened_at
        return next((one.at for one in self.entries if one.is_wet), None)

    @property
    def cold_since(self) -> float:
        """What its time to cold holding runs from (s); the opening, where no water was told."""
        return self.opened_at if self.wet_at is None else self.wet_at

    @property
    def unclean(self) -> Unclean | None:
        """The machine, as this batch has made it unclean."""
        if self.food is None or self.unclean_since is None:
            return None
        return Unclean(self.number, self.unclean_since, self.food, self.time_certain)

    @property
    def was_dry(self) -> bool:
        """Whether its crumb was called dry at least once."""
        return any(finding == "dry" for finding, _ in self.squeezes)

    @property
    def made_of(self) -> MadeOf:
        """What another batch like it is opened with."""
        marks = (self.target_pct, self.low_pct, self.high_pct)
        return MadeOf(self.entries[0].grams, marks, self.lot, self.plan)

    @property
    def contents(self) -> Contents:
        """What is in the hopper by the account."""
        return contents_of(self.entries, () if self.additions_told else self._by_recipe)

    @property
    def _by_recipe(self) -> tuple[Addition, ...]:
        """The recipe's additions, by the flour that the batch was opened with, as it was corrected."""
        return self.plan.additions(self.entries[0].grams) if self.plan else ()

    @property
    def flour_g(self) -> float:
        """Flour in so far (g)."""
        return self.contents.flour_g

    @property
    def recipe(self) -> str | None:
        """Name of the recipe."""
        return self.plan.recipe if self.plan else None

    @property
    def additions(self) -> tuple[Addition, ...]:
        """The recipe's additions that are in, each as much as went in."""
        if not self.additions_told:
            return self._by_recipe
        return tuple(
            Addition(one.name or "", one.grams, one.water_pct)
            for one in self.entries
            if one.kind == "addition"
        )

    @property
    def to_come(self) -> tuple[Addition, ...]:
        """The recipe's additions that are not in yet, nor left out; less where dough was taken out."""
        if not self.additions_told or self.plan is None:
            return ()
        settled, kept = {one.name for one in self.entries}.union(self.left_out), self.contents.kept
        return tuple(
            replace(one, grams=one.grams * kept) for one in self._by_recipe if one.name not in settled
        )

    @property
    def to_come_water_g(self) -> float:
        """Water that those additions will bring (g)."""
        return additions_water_g(self.to_come)

    @property
    def poured_g(self) -> float:
        """Water poured so far (g), without that of the additions."""
        return self.contents.poured_g

    @property
    def water_g(self) -> float:
        """Water in so far (g), the water of the additions that are in with it."""
        return self.contents.water_g

    @property
    def dry_g(self) -> float:
        """What the additions brought beside their water (g)."""
        return self.contents.dry_g

    @property
    def scrap_g(self) -> float:
        """Dough trimmed or lost (g)."""
        return sum((entry.grams for entry in self.entries if entry.kind == "scrap"), 0.0)

    @property
    def hydration_pct(self) -> float:
        """Water in percent of the flour."""
        return hydration_pct(self.water_g, self.flour_g)

    def to_g(self, pct: float) -> float:
        """Water that is lacking to `pct` (g); negative when past it."""
        return water_for_g(self.flour_g, pct) - self.water_g

    def to_pour_g(self, pct: float) -> float:
        """Water still to pour to reach `pct` (g), for additions to come bring the rest; negative past it."""
        return self.to_g(pct) - self.to_come_water_g

    def with_poured_pct(self, grams: float) -> float:
        """Hydration (%) with this much more water (g) and the additions to come in."""
        return hydration_pct(self.water_g + self.to_come_water_g + grams, self.flour_g)

    @property
    def to_next_g(self) -> float:
        """Water still to pour (g) to what was asked for last, or to the target; negative past it."""
        return self.to_pour_g(self.target_pct if self.pour_to_pct is None else self.pour_to_pct)

    @property
    def left_g(self) -> float:
        """Water still to pour (g): to what was asked for last, while that counts; else to the target."""
        if self.pour_to_pct is not None and (self.to_next_g >= -HALF_GRAM or self.standing is Standing.SHORT):
            return max(0.0, self.to_next_g)
        return self.to_pour_g(self.target_pct)

    @property
    def to_low_g(self) -> float:
        """Water to the low mark (g); negative past it."""
        return self.to_g(self.low_pct)

    @property
    def to_target_g(self) -> float:
        """Water to the target (g); negative past it."""
        return self.to_g(self.target_pct)

    @property
    def to_high_g(self) -> float:
        """Water to the high mark (g); negative past it."""
        return self.to_g(self.high_pct)

    @property
    def standing(self) -> Standing:
        """Where the water is between the marks, that of the additions to come counted."""
        to_target, to_high = self.to_pour_g(self.target_pct), self.to_pour_g(self.high_pct)
        if to_target > HALF_GRAM:
            return Standing.SHORT
        if to_target >= -HALF_GRAM:
            return Standing.ON_TARGET
        if to_high > HALF_GRAM:
            return Standing.PAST_TARGET
        return Standing.AT_HIGH if to_high >= -HALF_GRAM else Standing.OVER_HIGH

    @property
    def to_first_pour_g(self) -> float:
        """Water to pour to the first look at the crumb (g); negative past it."""
        return self.first_pour_g - self.water_g - self.to_come_water_g

    @property
    def first_pour_g(self) -> float:
        """Water after which the crumb is first looked at (g); moves with flour and target.

        What is to be poured for it is a multiple of 5. Additions bring their part of it, those to come too:
        with them in, in whatever order, it is never past its share of the target's water.
        """
        brought = self.contents.carried_g + self.to_come_water_g
        share = water_for_g(self.flour_g, self.target_pct) * self.first_share
        return brought + first_pour_g(share, brought)

    @property
    def product_g(self) -> float:
        """All that is in the hopper (g), what went through the die not taken off."""
        return self.contents.product_g

    def full_g(self, pct: float) -> float:
        """All that the hopper has to hold (g) once additions to come and the water to `pct` are in."""
        coming = sum((one.grams for one in self.to_come), 0.0)
        return self.product_g + coming + max(0.0, self.to_pour_g(pct))

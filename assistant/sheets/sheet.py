"""The batch sheet as a value: what is known of one batch, in the order in which it happened.

What is logged follows the trade's batch logs (date, lot, flour and water by addition and time, mix and rest
times, crumb verdicts, adjustments, die, scrap, net yield): common practice, no source.
"""

from dataclasses import dataclass

from assistant.batch.record.commands import Verdict
from assistant.batch.record.events import Source
from assistant.dough.hydration import hydration_pct
from assistant.dough.ingredients import Addition
from assistant.journal.summaries import Outcome


@dataclass(frozen=True, slots=True)
class Moment:
    """When: seconds since the batch was opened, and wall time (s since 1970) with whether that clock was set."""

    since_s: float
    wall: float
    wall_trusted: bool


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One thing that happened.

    `hydration_pct`: water per 100 of flour right after it, as it was known then; None where it changes nothing.
    `struck`: it was corrected or taken back later; `notes` say how.
    """

    moment: Moment
    what: str
    source: Source | None = None
    hydration_pct: float | None = None
    struck: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A batch from its opening to now; masses g, percent hydration.

    `extruded_early`: whether no crumb was called ready before extruding began; None without extruding.
    `certain` is false where the station was off for an unknown time: later times are too early then.
    """

    number: int
    opened: Moment
    ended: Moment | None
    outcome: Outcome
    lot: str | None
    target_pct: float
    low_pct: float
    high_pct: float
    flour_g: float
    water_g: float
    scrap_g: float
    crumb: Verdict | None
    extruded_early: bool | None
    dies: tuple[str, ...]
    trays: int
    portions: int
    lines: tuple[SheetLine, ...]
    certain: bool = True
    recipe: str | None = None
    allergens: tuple[str, ...] = ()
    additions: tuple[Addition, ...] = ()

    @property
    def hydration_pct(self) -> float:
        """Water per 100 of flour, corrections and withdrawals done."""
        return hydration_pct(self.water_g, self.flour_g)

    @property
    def dough_g(self) -> float:
        """Flour, water and all of the additions (g)."""
        return self.flour_g + self.water_g + sum(one.grams - one.water_g for one in self.additions)

    @property
    def net_g(self) -> float:
        """Dough less scrap (g)."""
        return self.dough_g - self.scrap_g

    @property
    def yield_pct(self) -> float:
        """Net of the dough (percent)."""
        return 100.0 * self.net_g / self.dough_g

    @property
    def clock_set(self) -> bool:
        """Whether the wall clock was set at every line."""
        return all(line.moment.wall_trusted for line in self.lines)

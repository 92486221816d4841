"""Which rules of food safety a kitchen keeps: how cold, how soon, and how soon the machine is cleaned.

One authority says all of it, none is mixed with another. Where its text has no figure, the kitchen's own plan
has it, and that is printed so. The local code counts before all of them.

- US Food Code 3-501.14(B): made from ingredients at ambient temperature, at 5 C (41 F) or less within 4
  hours. They run from the first wet contact, not from the tray: until then nothing grows in dry flour.
- US Food Code 4-602.11: surfaces in use are cleaned every 4 hours; in a room never above 12.8 C (55 F) every
  10 hours, 10 C (50 F) 16, 7.2 C (45 F) 20, 5 C (41 F) 24. The hours were read in a state's text
  (WAC 246-215-04605), the edges in Celsius are from memory.
- Italy, DPR 187/2001, art. 9 c. 4: loose fresh pasta is held at 4 C or less from production to sale. It names
  no hours and no interval of cleaning.
"""

from dataclasses import dataclass
from typing import Literal

Authority = Literal["us", "italy", "own"]
Room = Literal["kitchen", "12.8 C", "10 C", "7.2 C", "5 C"]

_HOUR_S = 3600.0
CLEAN_WITHIN_S: dict[Room, float] = {
    "kitchen": 4 * _HOUR_S,
    "12.8 C": 10 * _HOUR_S,
    "10 C": 16 * _HOUR_S,
    "7.2 C": 20 * _HOUR_S,
    "5 C": 24 * _HOUR_S,
}
"""The most that the room where the machine stands ever gets to -> time from wet contact to clean down (s)."""
HELD_AT_C: dict[str, float] = {"us": 5.0, "italy": 4.0}
"""Authority that names a temperature of cold holding -> that temperature (degrees Celsius)."""
COLD_WITHIN_S = 4 * _HOUR_S


@dataclass(frozen=True, slots=True)
class FoodRules:
    """The rules that a batch is made under. The journal keeps them by the names of their fields."""

    authority: Authority = "us"
    celsius: float = 5.0
    """Cold holding (degrees Celsius)."""
    cold_s: float = COLD_WITHIN_S
    """Time from the first wet contact of a dough until it is there (s)."""
    clean_s: float = CLEAN_WITHIN_S["kitchen"]
    """Time from the first wet contact of the machine to its clean down (s)."""
    clean_warn_s: float = 1800.0
    """How long before that it is called (s); 0: it is not."""
    source: str = ""
    """Who says what the authority does not: the kitchen's own plan."""


FOOD_CODE = FoodRules()


@dataclass(frozen=True, slots=True)
class Unclean:
    """A machine that dough has touched. Times are station times (s)."""

    batch: int
    """Number of the batch that first did."""
    since: float
    rules: FoodRules
    """Those of that batch."""
    certain: bool = True
    """False after a power cut of unknown length."""

    @property
    def due(self) -> float:
        """When clean down is due."""
        return self.since + self.rules.clean_s

    @property
    def call_at(self) -> float | None:
        """When it is called: before it is due, at half-time the earliest; None: it is not."""
        lead = min(self.rules.clean_warn_s, self.rules.clean_s / 2)
        return self.due - lead if lead > 0 else None

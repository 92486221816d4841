"""How a batch goes through the die, as the cook tells of it. Values only; times are station times (s)."""

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Reading:
    """A spoken temperature of the strand as it leaves the die."""

    batch: int
    at: float
    celsius: float
    die: str | None = None
    """The die that was in, by name; None: it was not named."""


@dataclass(frozen=True, slots=True)
class AtTheDie:
    """Trays and temperatures of one batch."""

    gaps_s: tuple[float, ...] = ()
    """From one full tray to the next, where the press ran on between them; the first tray has none."""
    tray_at: float | None = None
    """When the last tray was full; None: something stopped the press since, or there was none."""
    exits: tuple[Reading, ...] = ()
    """Spoken temperatures, oldest first."""
    gaps_before: int = 0
    """How many of the gaps are from before the die was cleaned."""

    @property
    def gaps_since_s(self) -> tuple[float, ...]:
        """Those of the die as it is: since it was cleaned, where it was."""
        return self.gaps_s[self.gaps_before :]

    def filled(self, at: float) -> "AtTheDie":
        """A tray is full."""
        gaps = self.gaps_s if self.tray_at is None else (*self.gaps_s, at - self.tray_at)
        return replace(self, gaps_s=gaps, tray_at=at)

    def stopped(self) -> "AtTheDie":
        """The press stood still, or the dough was worked on: the next tray says nothing of its pace."""
        return replace(self, tray_at=None)

    def cleaned(self) -> "AtTheDie":
        """The die was cleaned: trays from before tell nothing of how it runs now."""
        return replace(self, tray_at=None, gaps_before=len(self.gaps_s))

    def told(self, reading: Reading) -> "AtTheDie":
        """The strand was measured."""
        return replace(self, exits=(*self.exits, reading))

    def restarted(self, by: float) -> "AtTheDie":
        """The same by another boot's clock, that is off by so much (s); the press had no power either."""
        return replace(self, tray_at=None, exits=moved(self.exits, by))


NOTHING_TOLD = AtTheDie()


def moved(readings: tuple[Reading, ...], by: float) -> tuple[Reading, ...]:
    """Readings by another boot's clock, that is off by so much (s)."""
    return tuple(replace(one, at=one.at + by) for one in readings)

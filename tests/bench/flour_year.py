"""Simulate a year of a kitchen and compare ways to pour. Run by hand, never as a test.

    python -m tests.bench.flour_year [YEARS] [--seed N]

The kitchen is invented and its truth is known to the simulation alone; it is not the model that the program
fits: lots differ by their moisture (1.52 points of hydration a point: mass balance) and by character, seasons
swing as a sine, batches scatter with heavier tails than a normal, every fifth lot dries or takes up damp
while it is open, one batch in seventy is misweighed, and the cook's squeeze errs. A crumb is ready for 0.8 to
1.2 points beyond its end, and a top-up is 0.75 % of the flour.

`first pour over`: share of batches whose first pour was already past the end. `squeezes`: squeezes until the
crumb was called ready. `got flour`: share of batches that were called wet and got flour.
"""

import argparse
import math
import random
import statistics
from collections.abc import Iterator
from dataclasses import dataclass, field

from assistant.dough.evidence import WINDOW_PCT, Squeeze, bounds
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import Forecast, LotRecord, Seen

WINDOW = (0.8, 1.2)
TARGETS = {"semolina": 31.0, "wholegrain": 33.0}
STEP = 0.75


@dataclass(frozen=True)
class Batch:
    """One batch of the year."""

    day: float
    """When it is made (days since 1970)."""
    flour: str
    lot: str
    end: float
    """Hydration (%) at which its crumb becomes ready."""
    seed: int
    """Seeds the cook's hand, so that every way to pour meets the same one."""


@dataclass
class Count:
    """What a way to pour led to."""

    over: list[float] = field(default_factory=list)
    checks: list[int] = field(default_factory=list)
    wet: list[float] = field(default_factory=list)


def year(seed: int) -> Iterator[Batch]:
    """Batches of a year: 300 days of two or three, two flours in turn, some sixteen batches a lot."""
    luck = random.Random(seed)
    base = {flour: luck.gauss(target + 0.2, 0.4) for flour, target in TARGETS.items()}
    open_lots: dict[str, tuple[str, float, float, float, int]] = {}
    count = 0
    damp = 0.0
    for day in range(20_000, 20_300):
        damp = 0.8 * damp + luck.gauss(0, 0.06)
        for _ in range(luck.choice((2, 2, 3))):
            flour = luck.choices(list(TARGETS), (0.7, 0.3))[0]
            lot, mean, opened, drift, left = open_lots.get(flour, ("", 0.0, 0.0, 0.0, 0))
            if left == 0:
                count += 1
                moisture = luck.gauss(14.0, 0.4)
                mean = base[flour] - 1.52 * (moisture - 14.0) + luck.gauss(0, 0.3)
                drift = luck.choice((0.03, -0.03)) if luck.random() < 0.2 else 0.0
                lot, opened, left = str(count), float(day), luck.randint(12, 20)
            open_lots[flour] = (lot, mean, opened, drift, left - 1)
            end = mean + drift * (day - opened) + 0.3 * math.sin(day * 2 * math.pi / 365) + damp
            end += 0.22 * luck.gauss(0, 1) / math.sqrt(luck.gammavariate(2.5, 1 / 2.5))
            if luck.random() < 1 / 70:
                end += luck.choice((-1.5, 1.5))
            yield Batch(float(day) + luck.random() * 0.3, flour, lot, end, luck.randrange(1 << 30))


def cook(batch: Batch, first: float, then: float, count: Count) -> tuple[list[Squeeze], float]:
    """Pour, squeeze, pour on: what the cook said, and the final hydration."""
    hand = random.Random(batch.seed)
    window = hand.uniform(*WINDOW)
    now, verdicts = first, list[Squeeze]()
    count.over.append(float(first > batch.end))
    wet = False
    while True:
        felt = now + hand.gauss(0, 0.12)
        if felt < batch.end:
            verdicts.append(("dry", now))
            now = then if now < then - 0.05 and not wet else now + STEP / (2 if wet else 1)
        elif felt <= batch.end + window or len(verdicts) >= 8:
            verdicts.append(("ready", now))
            break
        else:
            verdicts.append(("wet", now))
            wet = True
            now -= STEP
    count.checks.append(len(verdicts))
    count.wet.append(float(wet))
    return verdicts, now


class Station:
    """Remembers as the program does, and says the first pour and the likely end."""

    def __init__(self) -> None:
        self.records: dict[str, LotRecord] = {}

    def forecast(self, batch: Batch) -> Forecast:
        """What the program would say before this batch."""
        recent = sorted(self.records.values(), key=lambda r: r.seen[-1].day)[-12:]
        return FlourMemory(recent).forecast(batch.lot, batch.day, batch.flour)

    def learn(self, batch: Batch, verdicts: list[Squeeze], final: float) -> None:
        """Keep the evidence of a batch."""
        found = bounds(verdicts, final)
        if found is not None:
            old = self.records.get(batch.lot, LotRecord(batch.lot, batch.flour))
            seen = (*old.seen, Seen(batch.day, found, len(old.seen)))
            self.records[batch.lot] = LotRecord(batch.lot, batch.flour, None, seen)


def live(seed: int, counts: dict[str, Count], inside: list[float]) -> None:
    """One year under every way to pour; each learns from its own batches."""
    last: dict[str, float] = {}
    last_at_once: dict[str, float] = {}
    staged, at_once = Station(), Station()
    for batch in year(seed):
        target = TARGETS[batch.flour]
        share = 0.72 * target
        cook(batch, share, target, counts[FIXED])

        aim = last.get(batch.flour, target)
        _, last[batch.flour] = cook(batch, 0.72 * aim, aim, counts[LAST])

        said = staged.forecast(batch)
        inside.append(float(said.low_pct <= batch.end <= said.high_pct))
        first = said.safe_pct if said.known else min(said.safe_pct, share)
        aim = said.likely_pct + WINDOW_PCT / 2 if said.known else target
        verdicts, final = cook(batch, first, max(first, aim), counts[STATION])
        staged.learn(batch, verdicts, final)

        aim = last_at_once.get(batch.flour, target)
        _, last_at_once[batch.flour] = cook(batch, aim, aim, counts[LAST_AT_ONCE])

        said = at_once.forecast(batch)
        count = counts[STATION_AT_ONCE]
        if said.batches >= 3:
            aim = min(said.likely_pct + WINDOW_PCT / 2, said.safe_pct + WINDOW_PCT)
            verdicts, final = cook(batch, aim, aim, count)
            count.over[-1] = float(said.safe_pct > batch.end)
        else:
            first = said.safe_pct if said.known else min(said.safe_pct, share)
            aim = said.likely_pct + WINDOW_PCT / 2 if said.known else target
            verdicts, final = cook(batch, first, max(first, aim), count)
        at_once.learn(batch, verdicts, final)


FIXED = "72 % of the target, squeeze, the target"
LAST = "72 % of last time's water, squeeze, as last time"
STATION = "the station's first pour, squeeze, half a point past the likely end"
LAST_AT_ONCE = "as last time at once"
STATION_AT_ONCE = (
    "the same as the station's, but from the lot's fourth batch on no squeeze after the first pour"
)
WAYS = (FIXED, LAST, STATION, LAST_AT_ONCE, STATION_AT_ONCE)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("years", nargs="?", type=int, default=5)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    counts = {way: Count() for way in WAYS}
    inside: list[float] = []
    for number in range(given.years):
        live(given.seed + number, counts, inside)
    print(
        f"{given.years} years, {len(inside)} batches, seeds from {given.seed}; "
        f"90 % intervals held {statistics.mean(inside):.1%}\n"
    )
    print("| way to pour | first pour over | squeezes a batch | got flour |")
    print("|---|---|---|---|")
    for way, count in counts.items():
        print(
            f"| {way} | {statistics.mean(count.over):.1%} | {statistics.mean(count.checks):.2f} "
            f"| {statistics.mean(count.wet):.1%} |"
        )


if __name__ == "__main__":
    main()

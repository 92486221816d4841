"""Measure what the air of the store says of a lot's first batch. Run by hand, never as a test.

    python -m tests.bench.flour_air [YEARS] [--seed N]

The rows of the invented kitchen (`flour_kitchen.py`) in which humidity is told, poured as the station says,
once with what the air says of a lot (`assistant/dough/flour/lot_air.py`) and once without. `off`: how far the
end of a lot's first batch is from what was foretold (root of the mean square, points).
"""

import argparse
from collections.abc import Iterator
from dataclasses import replace
from math import sqrt
from statistics import mean

from assistant.dough.lots import LotRecord
from tests.bench.flour_kitchen import ROWS, Batch, year
from tests.bench.flour_year import Count, Station, by_station


class Deaf(Station):
    """A station to which the air says nothing of a lot; that of each batch still counts."""

    @staticmethod
    def _named(batch: Batch) -> LotRecord:
        # As measured at the reference moisture: no air shifts it.
        return replace(Station._named(batch), moisture_pct=14.0)


def firsts(batches: Iterator[Batch], station: Station) -> tuple[list[float], list[int], list[int]]:
    """Of a year: how far each lot's first batch was off (points), its squeezes, those of all batches."""
    off, squeezes, count, known = list[float](), list[int](), Count(), set[str]()
    for batch in batches:
        said = station.forecast(batch)
        verdicts, _ = by_station(said, batch, count)
        station.learn(batch, verdicts)
        if batch.lot not in known:
            known.add(batch.lot)
            off.append(batch.end - said.likely_pct)
            squeezes.append(len(verdicts))
    return off, squeezes, count.squeezes


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("years", nargs="?", type=int, default=5)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print(
        "| the kitchen | lots | off: without | with | squeezes of it: without | with "
        "| of all: without | with |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for name, row in ROWS.items():
        if not row.told:
            continue
        ways = []
        for kind in (Deaf, Station):
            years = [firsts(year(row, given.seed + number), kind()) for number in range(given.years)]
            off = [one for made in years for one in made[0]]
            first = [one for made in years for one in made[1]]
            every = [one for made in years for one in made[2]]
            ways.append((len(off), sqrt(mean(one * one for one in off)), mean(first), mean(every)))
        (lots, *deaf), (_, *hears) = ways
        cells = " | ".join(f"{a:.2f} | {b:.2f}" for a, b in zip(deaf, hears, strict=True))
        print(f"| {name} | {lots} | {cells} |", flush=True)


if __name__ == "__main__":
    main()

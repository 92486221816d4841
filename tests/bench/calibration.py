"""Simulation-based calibration of the memory for flour. Run by hand, never as a test.

    python -m tests.bench.calibration [DRAWS]

Truths are drawn from the model, batches from them; the forecast must hold them as often as it promises.
"""

import argparse
import random
from collections.abc import Sequence
from math import sqrt

from assistant.dough.flour_memory import FlourMemory
from tests.dough.test_lots import simulated


def standard_error(hits: Sequence[float]) -> float:
    """Standard error of a share of hits."""
    share = sum(hits) / len(hits)
    return sqrt(share * (1.0 - share) / len(hits))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("draws", nargs="?", type=int, default=2000)
    given = parser.parse_args()
    luck = random.Random(11)
    shares = (0.05, 0.25, 0.5, 0.75, 0.95)
    under: dict[float, list[float]] = {share: [] for share in shares}
    for _ in range(given.draws):
        made, day, end = simulated(luck)
        found = FlourMemory(made).forecast("3", day)
        for share in shares:
            under[share].append(float(end <= found.ends.quantile(share)))
    print(f"{given.draws} draws\n\n| promised below | found below | standard error |\n|---|---|---|")
    for share, hits in under.items():
        print(f"| {share:.0%} | {sum(hits) / len(hits):.1%} | {standard_error(hits):.1%} |")


if __name__ == "__main__":
    main()

"""Tables of an evaluation: right and wrong for each weight file, and talk accepted, at several limits."""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.bench.finetune.evaluate import Result


def _share(part: Iterable[bool]) -> str:
    found = list(part)
    return f"{100 * sum(found) / len(found):5.1f}" if found else "    -"


def show(results: list[Result], limits: tuple[float, ...] = (0.8, 1.0, 1.3, 1.6, 2.0)) -> None:
    """Print the tables."""
    files = list(dict.fromkeys(r.weights for r in results))
    groups: dict[tuple[str, str], list[Result]] = defaultdict(list)
    for r in results:
        groups[r.part, r.level].append(r)
    print("right, whatever the cost (meaning of the whole command; words, digits, numbers: the text)")
    for (part, level), rows in groups.items():
        if part in ("talk", "other"):
            continue
        n = len(rows) // len(files)
        shares = (f"{file}: {_share(r.right for r in rows if r.weights == file)}" for file in files)
        print(f"  {part:8} {level:12} n={n:4}  {'  '.join(shares)}")
    for limit in limits:
        print(f"cost < {limit}: right / wrong taken; talk taken")
        for (part, level), rows in groups.items():
            if part not in ("command", "talk", "other"):
                continue
            cells = []
            for file in files:
                mine = [r for r in rows if r.weights == file]
                taken = _share(r.cost < limit for r in mine)
                right = _share(r.right and r.cost < limit for r in mine)
                wrong = _share(not r.right and r.cost < limit for r in mine)
                cells.append(f"{right} /{wrong}" if part == "command" else f"taken {taken}")
            print(f"  {part:8} {level:12} n={len(rows) // len(files):4}  " + "   ".join(cells))


def main() -> None:
    """Show a results file again."""
    from tests.bench.finetune.evaluate import Result

    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("results", type=Path)
    show([Result(**r) for r in json.loads(parse.parse_args().results.read_text())])


if __name__ == "__main__":
    main()

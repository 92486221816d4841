"""Tables in Markdown from results."""

from collections.abc import Callable, Iterable, Sequence
from statistics import median

from tests.bench.hearing.hearing import OUTCOMES, Result, quantile
from tests.bench.hearing.intervals import Share

Judge = Callable[[Result], str]


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table."""
    lines = [head, ["---"] * len(head), *[[str(cell) for cell in row] for row in rows]]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


def outcomes(
    results: Sequence[Result], judge: Judge, by: str, key: Callable[[Result], str], *, in_order: bool = False
) -> str:
    """Shares (%) of every outcome, grouped; groups as they come, or `in_order` of their names."""
    groups: dict[str, list[str]] = {}
    for result in results:
        groups.setdefault(key(result), []).append(judge(result))
    rows = [
        [name, len(found), *(Share(found.count(kind), len(found)) for kind in OUTCOMES)]
        for name, found in (sorted(groups.items()) if in_order else groups.items())
    ]
    return table([by, "n", *OUTCOMES], rows)


def false_accepts(results: Sequence[Result], judge: Judge) -> str:
    """Talk that was acted on and talk that led to a question, by ratio; per hour of talk without pauses."""
    groups: dict[str, list[Result]] = {}
    for result in results:
        groups.setdefault(result.case.snr, []).append(result)
    rows = []
    for name, some in groups.items():
        kinds = [judge(result) for result in some]
        hours = sum(result.case.end_s - 1.0 for result in some) / 3600
        acted, asked = kinds.count("wrong"), kinds.count("caught")
        rows.append(
            [
                name,
                len(some),
                Share(acted, len(some)),
                Share(asked, len(some)),
                f"{hours:.3f}",
                f"{acted / hours:.1f}",
            ]
        )
    return table(["noise", "sentences", "acted on %", "asked %", "hours of talk", "acted on an hour"], rows)


def waits(results: Sequence[Result], key: Callable[[Result], str]) -> str:
    """End of speech to decision (ms): the early decision, and a fixed silence, for accepted sentences."""
    groups: dict[str, list[Result]] = {}
    for result in results:
        if result.waits:
            groups.setdefault(key(result), []).append(result)
    rows = []
    for name, some in groups.items():
        own, fixed = [r.waits[-1] for r in some], [r.fixed_waits[-1] for r in some]
        cut = sum(r.cut_short for r in some)
        times = [median(own), quantile(own, 0.95), median(fixed), quantile(fixed, 0.95)]
        rows.append([name, len(some), *map(_ms, times), f"{median(fixed) / median(own):.1f}", cut])
    head = ["noise", "n", "patient, median", "95 %", "fixed, median", "95 %", "ratio", "cut short"]
    return table(head, rows)


def _ms(seconds: float) -> str:
    return f"{1000 * seconds:.0f}"

"""What is aimed at, beside what was reached."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tests.bench.ear.figures import ALL, Figures
from tests.bench.ear.people import READERS
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.report import table


@dataclass(frozen=True)
class Goal:
    """A figure to reach: at least `wanted`, or at most where `least` is False. In %, or times an hour."""

    what: str
    figure: str
    wanted: float
    least: bool = True


def _sentences(people: str) -> Iterator[Goal]:
    """Whole sentences in a grammar of transcripts of all lengths."""
    who = "real people" if people == ALL else people
    for snr, wanted in (("quiet", 99.0), ("10 dB", 95.0), ("5 dB", 88.0)):
        yield Goal(f"{who}, right sentence, {snr}, %", f"whole grammar right {snr}, {people}", wanted)
    acted, wrong = f"whole grammar acted of right quiet, {people}", f"whole grammar wrong quiet, {people}"
    yield Goal(f"{who}, right and acted on at once, quiet, % of the right", acted, 90.0)
    yield Goal(f"{who}, wrong and acted on, quiet, %", wrong, 0.5, least=False)


GOALS = (
    *(goal for people in (ALL, READERS) for goal in _sentences(people)),
    *(
        Goal(f"new names, right at once, {snr}, %", f"names right {snr}", wanted)
        for snr, wanted in (("quiet", 95.0), ("10 dB", 90.0))
    ),
    *(
        Goal(f"the judge's voices, right at once, {snr}, %", f"judge right {snr}", wanted)
        for snr, wanted in (("quiet", 95.0), ("10 dB", 92.0), ("5 dB", 88.0))
    ),
    *(
        Goal(f"the judge's voices, wrong and acted on, {snr}, %", f"judge wrong {snr}", wanted, least=False)
        for snr, wanted in (("quiet", 0.5), ("10 dB", 1.0), ("5 dB", 1.5))
    ),
    *(
        Goal(f"single calls and short phrases acted on, {snr}, an hour", f"calls {snr}", 1.0, least=False)
        for snr in ("quiet", "10 dB")
    ),
    *(
        Goal(f"sentences of talk acted on, {snr}, an hour", f"talk {snr}", 0.1, least=False)
        for snr in ("quiet", "10 dB")
    ),
)


def reached(goal: Goal, value: float) -> bool:
    """Whether a figure is as good as aimed at; the interval does not count."""
    return value >= goal.wanted if goal.least else value <= goal.wanted


def goals_table(ears: Sequence[str], figures: Figures, goals: Sequence[Goal] = GOALS) -> str:
    """Goals and what each ear reached; what was not measured in this run has no figure."""
    rows = []
    for goal in goals:
        cells = []
        for ear in ears:
            found = figures.get((ear, goal.figure))
            if found is None:
                cells.append("not measured")
                continue
            value = found.value * (100 if isinstance(found, Share) else 1)
            cells.append(f"{found}{'' if reached(goal, value) else ', missed'}")
        rows.append([goal.what, f"{'>=' if goal.least else '<='} {goal.wanted:g}", *cells])
    return table(["goal", "aimed at", *ears], rows)

"""A year by months: flour used, crumb checks a batch, batches that got more water than they wanted. Pure.

Columns begin at nought. A batch that was taken back counts nowhere; a dropped one took its flour.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import tzinfo

from assistant.journal.tallies import Tally
from assistant.sheets.charts.figure import LABEL, Figure, Table, layer, name, number, view
from assistant.sheets.day_account import day_of
from assistant.sheets.wording import SheetWords

_HEIGHT = 220
_LEAST = {"flour": 1.0, "checks": 3.0, "over": 10.0}
"""What each axis goes up to at least, so that little does not look like much."""
_AS_A_MONTH = len("2026-03")


@dataclass(frozen=True, slots=True)
class Month:
    """What a month adds up to; masses in g."""

    month: str
    """As 2026-03."""
    batches: int = 0
    """Closed ones."""
    dropped: int = 0
    flour_g: float = 0.0
    """Flour of all batches, dropped ones too."""
    scrap_g: float = 0.0
    portions: int = 0
    checks: int = 0
    """How often a crumb was judged, in closed batches."""
    judged: int = 0
    """Closed batches whose crumb was judged at least once."""
    over: int = 0
    """Closed batches whose crumb was called wet at least once."""

    @property
    def checks_a_batch(self) -> float | None:
        """Crumb checks of a batch that had any; None: none had."""
        return self.checks / self.judged if self.judged else None

    @property
    def over_pct(self) -> float | None:
        """Share of the judged batches that went over (%); None: none was judged."""
        return 100.0 * self.over / self.judged if self.judged else None


def months(tallies: Iterable[Tally], zone: tzinfo | None = None) -> list[Month]:
    """The months that have a batch, oldest first; a batch counts in the month in which it ended."""
    found: dict[str, list[Tally]] = {}
    for one in tallies:
        ended = one.batch.ended_wall
        if ended is not None and one.batch.outcome in ("closed", "dropped"):
            found.setdefault(day_of(ended, zone)[:_AS_A_MONTH], []).append(one)
    return [_month(month, several) for month, several in sorted(found.items())]


def _month(month: str, several: Sequence[Tally]) -> Month:
    closed = [one for one in several if one.batch.outcome == "closed"]
    return Month(
        month,
        batches=len(closed),
        dropped=len(several) - len(closed),
        flour_g=sum(one.batch.flour_g for one in several),
        scrap_g=sum(one.scrap_g for one in several),
        portions=sum(one.portions for one in closed),
        checks=sum(one.checks for one in closed),
        judged=sum(one.checks > 0 for one in closed),
        over=sum(one.over for one in closed),
    )


def flour_figure(year: Sequence[Month], words: SheetWords) -> Figure:
    """Flour by month (kg)."""
    values = [(one.month, one.flour_g / 1000.0) for one in year]
    head = ("month", "batches", "dropped", "flour_kg", "scrap_kg", "portions")
    rows = [
        (
            one.month,
            str(one.batches),
            str(one.dropped),
            words.decimal(one.flour_g / 1000.0),
            words.decimal(one.scrap_g / 1000.0, 2),
            str(one.portions),
        )
        for one in year
    ]
    return _columns("flour", values, head, rows, words)


def checks_figure(year: Sequence[Month], words: SheetWords) -> Figure:
    """Crumb checks of a batch, by month."""
    values = [(one.month, one.checks_a_batch) for one in year]
    rows = [
        (one.month, str(one.judged), str(one.checks), _or_nothing(one.checks_a_batch, words)) for one in year
    ]
    return _columns("checks", values, ("month", "judged", "checks", "checks_a_batch"), rows, words)


def over_figure(year: Sequence[Month], words: SheetWords) -> Figure:
    """Share of the batches whose crumb was called wet (%), by month."""
    values = [(one.month, one.over_pct) for one in year]
    rows = [(one.month, str(one.judged), str(one.over), _or_nothing(one.over_pct, words)) for one in year]
    return _columns("over", values, ("month", "judged", "over", "over_pct"), rows, words)


def _or_nothing(value: float | None, words: SheetWords) -> str:
    return words.text("batches.nothing") if value is None else words.decimal(value)


def _columns(
    figure: str,
    values: Sequence[tuple[str, float | None]],
    head: Sequence[str],
    rows: Sequence[tuple[str, ...]],
    words: SheetWords,
) -> Figure:
    """A column a month, its figure above it."""
    data = [{"month": m, "value": v, "text": words.decimal(v)} for m, v in values if v is not None]
    months_of_it = [f"{rows[0][0][:4]}-{month:02}" for month in range(1, 13)] if rows else []
    axis = {"labelAngle": 0, "labelOverlap": True}
    x = name("month", words.text("chart.head.month"), axis=axis, scale={"domain": months_of_it})
    most = max([_LEAST[figure], *(value for _, value in values if value is not None)])
    title = words.text(f"chart.year.{figure}.axis")
    y = number("value", title, (0.0, 1.1 * most), axis={"tickCount": 5})
    layers = [
        layer(data, {"type": "bar", "style": "column", "width": {"band": 0.6}}, x=x, y=y),
        layer(data, {**LABEL, "dy": -9}, x=x, y=y, text={"field": "text"}),
    ]
    table = Table(
        tuple(words.text(f"chart.head.{one}") for one in head), tuple(rows), frozenset(range(1, len(head)))
    )
    called, reads = words.text(f"chart.year.{figure}.title"), words.text(f"chart.year.{figure}.reads")
    decimal = words.text("units.decimal_mark")
    return Figure(figure, called, (reads,), view(layers, height=_HEIGHT), table, decimal)

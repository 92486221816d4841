"""A sheet in the making: the account as it goes, and the lines that tell of it.

A withdrawal puts the account back to what it was before the event that it takes back; the line stays, struck.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from assistant.batch.record import events as ev
from assistant.batch.record.commands import Verdict
from assistant.dough.hydration import hydration_pct
from assistant.dough.ingredients import Addition, additions_water_g
from assistant.dough.recipe import RecipePlan
from assistant.journal.summaries import Outcome
from assistant.ports import Stamp
from assistant.sheets import words
from assistant.sheets.sheet import Moment, Sheet, SheetLine

_OPENING = 0
"""Entry of the flour that a batch was opened with: its event gives it no number."""


@dataclass(slots=True)
class _Row:
    """A line in the making. `entry`, `grams`: what it says of the account, to be struck when that changed."""

    moment: Moment
    what: str
    source: ev.Source | None
    hydration_pct: float | None = None
    struck: bool = False
    notes: list[str] = field(default_factory=list)
    entry: int | None = None
    grams: float = 0.0


@dataclass(frozen=True, slots=True)
class _Interval:
    """A mix or a rest; times s since the opening. `row`: the line that tells of it."""

    row: int
    began_s: float
    ended_s: float | None = None


@dataclass(frozen=True, slots=True)
class Account:
    """All that a withdrawal puts back."""

    entries: dict[int, tuple[str, float]]
    marks: tuple[float, float, float]
    lot: str | None
    crumb: Verdict | None = None
    early: bool | None = None
    dies: tuple[str, ...] = ()
    trays: int = 0
    portions: int = 0
    outcome: Outcome = "open"
    ended: Moment | None = None
    plan: RecipePlan | None = None

    @property
    def additions(self) -> tuple[Addition, ...]:
        """The recipe's additions, by the flour of the opening."""
        return self.plan.additions(self.entries[_OPENING][1]) if self.plan else ()

    @property
    def water_g(self) -> float:
        """Water (g), the additions' with it."""
        return self.grams("water") + additions_water_g(self.additions)

    @property
    def hydration_pct(self) -> float:
        """Water per 100 of flour."""
        return hydration_pct(self.water_g, self.grams("flour"))

    def grams(self, kind: str) -> float:
        """Sum of the entries of a kind (g)."""
        return sum(grams for entry_kind, grams in self.entries.values() if entry_kind == kind)


@dataclass(slots=True)
class _Step:
    """Where a withdrawal of `what` goes back to, and the line that it strikes."""

    what: str
    account: Account
    intervals: tuple[_Interval, ...]
    row: int | None


class SheetDraft:
    """Follows the events of a batch, the account as it goes and the lines that tell of it."""

    def __init__(self, stamp: Stamp, opening: ev.BatchOpened) -> None:
        self._number = opening.batch
        self._opened_at = opening.at
        self._stamp = stamp
        self._opened = self._now = Moment(0.0, stamp.wall, stamp.wall_trusted)
        self._certain = True
        self._rows: list[_Row] = []
        self._intervals: tuple[_Interval, ...] = ()
        self._question: _Row | None = None
        self.account = Account(
            entries={_OPENING: ("flour", opening.flour_g)},
            marks=(opening.target_pct, opening.low_pct, opening.high_pct),
            lot=opening.lot,
            plan=opening.plan,
        )
        self._steps = [_Step("BatchOpened", self.account, (), 0)]
        self.enter("flour", _OPENING, opening.flour_g, opening.source)

    def take(self, stamp: Stamp, event: ev.Event, tell: Callable[["SheetDraft", ev.Event], None]) -> None:
        """Take in the next event; `tell` says what it does to the account and the lines."""
        self._go_on(stamp, event)
        if isinstance(event, ev.Withdrawn):
            self._withdraw(event)
            return
        step = _Step(type(event).__name__, self.account, self._intervals, None)
        rows = len(self._rows)
        tell(self, event)
        step.row = rows if len(self._rows) > rows else None
        self._steps.append(step)

    def _go_on(self, stamp: Stamp, event: ev.Event) -> None:
        """Move the time of the sheet; over a restart station time begins anew."""
        if isinstance(event, ev.StationStarted):
            self._opened_at += event.shift
            self._certain = self._certain and event.certain
        elif stamp.boot != self._stamp.boot:
            # The station restarted while this batch was closed, and the batch was opened again since.
            known = stamp.wall_trusted and self._stamp.wall_trusted
            off = max(0.0, stamp.wall - self._stamp.wall) if known else 0.0
            self._opened_at = event.at - self._now.since_s - off
            self._certain = self._certain and known
        self._stamp = stamp
        self._now = Moment(event.at - self._opened_at, stamp.wall, stamp.wall_trusted)

    def row(
        self,
        what: str,
        source: ev.Source | None = None,
        *,
        hydration: float | None = None,
        notes: list[str] | None = None,
    ) -> _Row:
        """Add a line."""
        row = _Row(self._now, what, source, hydration, notes=notes or [])
        self._rows.append(row)
        return row

    def change(self, **changes: Any) -> None:
        """Change fields of the account."""
        self.account = replace(self.account, **changes)

    def end(self, outcome: Outcome) -> None:
        """The batch is over."""
        self.end_intervals()
        self.change(outcome=outcome, ended=self._now)

    def ask(self, question: str, source: ev.Source, reason: str) -> None:
        """Add a line with a question; the answer is noted there."""
        self._question = self.row(question, source, notes=[reason])

    def answer(self, answer: str) -> None:
        """Note the answer to the open question, if there is one."""
        if self._question is not None:
            self._question.notes.append(answer)
            self._question = None

    def enter(self, kind: str, number: int, grams: float, source: ev.Source) -> None:
        """Add an entry of the account, or put another mass in its place, with a line."""
        self.change(entries={**self.account.entries, number: (kind, grams)})
        hydration = None if kind == "scrap" else self.account.hydration_pct
        row = self.row(f"{kind} {words.grams(grams)}", source, hydration=hydration)
        row.entry, row.grams = number, grams

    def correct(self, event: ev.EntryCorrected) -> None:
        """Put another mass in an entry's place; one that is not known by number is the opening flour."""
        number = event.entry if event.entry in self.account.entries else _OPENING
        kind, _ = self.account.entries[number]
        self.enter(kind, number, event.grams, event.source)
        self._rows[-1].what = f"correction: {kind} {words.grams(event.grams)}, not {words.grams(event.was)}"

    def begin(self, name: str, seconds: float) -> None:
        """A mix or a rest begins; it ends the one before it."""
        self.end_intervals()
        self.row(f"{name} {words.length(seconds)}")
        began = _Interval(len(self._rows) - 1, self._now.since_s)
        self._intervals = (*self._intervals, began)

    def end_intervals(self, *, for_good: bool = False) -> None:
        """The mix or rest that is going on is over; `for_good`: by the clock, whatever is taken back later."""
        ended = self._now.since_s
        self._intervals = tuple(
            replace(i, ended_s=ended) if i.ended_s is None else i for i in self._intervals
        )
        if for_good:
            for step in self._steps:
                step.intervals = self._intervals

    def _withdraw(self, event: ev.Withdrawn) -> None:
        """Go back to before the last event of this name, strike its line, and tell."""
        while self._steps:
            step = self._steps.pop()
            if step.what == event.what:
                break
        else:
            return
        self.account, self._intervals = step.account, step.intervals
        if step.row is None:
            return
        row = self._rows[step.row]
        row.struck = True
        row.notes.append("taken back")
        if event.what == "BatchOpened":
            self.end("taken back")
        self.row(
            f"taken back: {row.what}",
            hydration=None if row.hydration_pct is None else self.account.hydration_pct,
        )

    def sheet(self) -> Sheet:
        """What came of it."""
        account = self.account
        self._strike_what_was_corrected()
        for interval in self._intervals:
            self._rows[interval.row].notes.append(_how_long(interval))
        return Sheet(
            number=self._number,
            opened=self._opened,
            ended=account.ended,
            outcome=account.outcome,
            lot=account.lot,
            target_pct=account.marks[0],
            low_pct=account.marks[1],
            high_pct=account.marks[2],
            flour_g=account.grams("flour"),
            water_g=account.water_g,
            scrap_g=account.grams("scrap"),
            crumb=account.crumb,
            extruded_early=account.early,
            dies=account.dies,
            trays=account.trays,
            portions=account.portions,
            lines=tuple(
                SheetLine(row.moment, row.what, row.source, row.hydration_pct, row.struck, tuple(row.notes))
                for row in self._rows
            ),
            certain=self._certain,
            recipe=account.plan.recipe if account.plan else None,
            allergens=account.plan.allergens if account.plan else (),
            additions=account.additions,
        )

    def _strike_what_was_corrected(self) -> None:
        for row in self._rows:
            if row.struck or row.entry is None:
                continue
            _, grams = self.account.entries.get(row.entry, ("", row.grams))
            if abs(grams - row.grams) > 1e-9:
                row.struck = True
                row.notes.append(f"corrected to {words.grams(grams)}")


def _how_long(interval: _Interval) -> str:
    """Note on how long an interval really was."""
    if interval.ended_s is None:
        return "still running"
    return f"ran {words.length(interval.ended_s - interval.began_s)}"

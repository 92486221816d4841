"""A batch's events, with the stamps that they were written under, make its sheet. Pure.

A fold over (state before, event, state after). All of the account is the batch's own; kept here is only what
a state does not hold: the lines, what became of them, how long a mix or a rest ran, and when.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.batch import Batch
from assistant.batch.record.clocks.clock_events import TimeOffKnown, TimeTold
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.hopper.entries import Entry
from assistant.batch.record.hopper.leftovers import CLEANED_BY
from assistant.batch.record.state import State, Undoable
from assistant.journal.reader import Passage
from assistant.journal.summaries import Outcome, batch_of, summaries_after
from assistant.ports import Stamp
from assistant.sheets.die_runs import run_along
from assistant.sheets.fragment import passages
from assistant.sheets.known_later import known_later
from assistant.sheets.lines import detail_of, line_of, notes_of
from assistant.sheets.sheet import Moment, Phrase, Sheet, SheetLine

_SAME_G = 1e-9
"""Masses closer than this (g) are the same."""


def build_sheet(events: Iterable[tuple[Stamp, ev.Event]]) -> Sheet:
    """Sheet of one batch from its events, oldest first, as a journal's `batch(number)` returns them.

    Raises ValueError where they don't begin with an opening.
    """
    first, *rest = along = list(passages(_opened(events)))
    fold = _Fold(first)
    for passage in rest:
        fold.take(passage)
    return replace(fold.sheet(), run=run_along(along))


def batch_sheet(journal: Iterable[tuple[Stamp, ev.Event]], number: int) -> Sheet:
    """Sheet of one batch out of a whole journal, read from its first event.

    Raises ValueError where there is no batch of that number.
    """
    state, found = State(), list[tuple[Stamp, ev.Event]]()
    for stamp, event in journal:
        before, state = state, evolve(state, event)
        if batch_of(before, state) == number:
            found.append((stamp, event))
    if not found:
        raise ValueError(f"no batch {number} in this journal")
    return build_sheet(found)


def _opened(events: Iterable[tuple[Stamp, ev.Event]]) -> list[tuple[Stamp, ev.Event]]:
    """The events, if they begin with an opening."""
    found = known_later(events)
    first = found[0][1] if found else None
    if not isinstance(first, ev.BatchOpened):
        raise ValueError(f"a batch begins with BatchOpened, not with {type(first).__name__}")
    return found


@dataclass(slots=True)
class _Interval:
    """A mix or a rest that the batch started; times since the opening (s)."""

    timer: str
    began_s: float
    ended_s: float | None = None
    rang: bool = False
    """It ended by the clock: no withdrawal brings it back."""


@dataclass(slots=True)
class _Line:
    """A line in the making."""

    moment: Moment
    what: Phrase
    event: ev.Event
    source: ev.Source | None = None
    hydration_pct: float | None = None
    notes: list[Phrase] = field(default_factory=list)
    entry: tuple[int, float] | None = None
    """Place in the account that it is about, and the mass (g) that it puts there."""
    interval: _Interval | None = None
    withdrawn: bool = False
    struck: bool = False


class _Fold:
    """Follows a batch through its events."""

    def __init__(self, first: Passage) -> None:
        stamp, _, opening, after = first
        assert after.batch is not None
        self._stamp = stamp
        self._opened_at = opening.at
        self._opened = self._now = Moment(0.0, stamp.wall, stamp.wall_trusted)
        self._certain = True
        self._boot_certain = True
        self._clock_told = isinstance(opening, ev.BatchOpened) and opening.clock_told
        self._batch: Batch = after.batch
        self._outcome: Outcome = "open"
        self._ended: Moment | None = None
        self._lines: list[_Line] = []
        self._steps: list[tuple[Undoable, _Line | None]] = []
        self._question: _Line | None = None
        self._opening = opening
        self._entered: dict[int, Moment] = {}
        self._cleaned = False
        self.take(first)

    def take(self, passage: Passage) -> None:
        """Take in the next event."""
        stamp, before, event, after = passage
        self._move(stamp, event)
        self._clock_told = self._clock_told or isinstance(event, TimeTold)
        if isinstance(event, TimeOffKnown):
            self._know_time_off(event, before.batch, after.batch)
        self._batch = after.batch or before.batch or self._batch
        line = self._withdrawal(before, event) if isinstance(event, ev.Withdrawn) else self._line(event)
        if line is not None:
            self._lines.append(line)
        self._remember(before, event, after, line)
        self._follow_intervals(event, after, line)
        self._follow_question(event, line)
        self._entered.setdefault(self._batch.entries[-1].number, self._now)
        if isinstance(event, sh.WalkEnded) and event.walk == CLEANED_BY and not event.skipped:
            self._cleaned = True
        self._outcome, self._ended = "open", None
        if after.batch is None:
            (ended,) = summaries_after(before, event, after, stamp)
            self._outcome, self._ended = ended.outcome, self._now

    def _move(self, stamp: Stamp, event: ev.Event) -> None:
        """Move the time of the sheet; over a restart station time begins again."""
        if isinstance(event, ev.StationStarted):
            self._opened_at += event.shift
            if not event.certain:
                self._boot_certain, self._certain = self._certain, False
        elif stamp.boot != self._stamp.boot:
            # The station restarted while this batch was closed, and the batch was opened again since.
            known = stamp.wall_trusted and self._stamp.wall_trusted
            off = max(0.0, stamp.wall - self._stamp.wall) if known else 0.0
            self._opened_at = event.at - self._now.since_s - off
            self._certain = self._certain and known
        self._stamp = stamp
        self._now = Moment(event.at - self._opened_at, stamp.wall, stamp.wall_trusted)

    def _know_time_off(self, event: TimeOffKnown, before: Batch | None, after: Batch | None) -> None:
        """Put right what was written since the start: it was later after the opening than it seemed."""
        self._certain = self._boot_certain and event.wholly
        off = before.opened_at - after.opened_at if before is not None and after is not None else 0.0
        started_s = event.since - self._opened_at
        self._opened_at -= off

        def right(was: Moment) -> Moment:
            return replace(was, since_s=was.since_s + off) if was.since_s >= started_s else was

        self._now = right(self._now)
        self._entered = {number: right(at) for number, at in self._entered.items()}
        for line in self._lines:
            line.moment = right(line.moment)
            if (interval := line.interval) is not None:
                began, ended = interval.began_s, interval.ended_s
                interval.began_s = began + off if began >= started_s else began
                interval.ended_s = ended + off if ended is not None and ended >= started_s else ended

    def _line(self, event: ev.Event) -> _Line | None:
        """The line that shows an event."""
        detail, (place, entry) = detail_of(event), self._entry_of(event)
        what = line_of(event, entry.kind if entry else None)
        if what is None:
            return None
        line = _Line(self._now, what, event, notes=notes_of(event))
        if detail.source:
            line.source = getattr(event, "source", None)
        line.hydration_pct = getattr(event, "hydration_pct", None)
        if detail.entry and entry is not None:
            line.entry = (place, entry.grams)
            line.hydration_pct = None if entry.kind == "scrap" else self._batch.hydration_pct
        if detail.interval is not None:
            line.interval = _Interval(detail.interval, self._now.since_s)
        return line

    def _entry_of(self, event: ev.Event) -> tuple[int, Entry | None]:
        """The entry of the account that an event is about, and its place there."""
        entries = self._batch.entries
        if isinstance(event, ev.BatchOpened):
            return 0, entries[0]
        number = getattr(event, "entry", None)
        return next(((at, entry) for at, entry in enumerate(entries) if entry.number == number), (0, None))

    def _withdrawal(self, before: State, event: ev.Withdrawn) -> _Line | None:
        """Strike the line of what is taken back; the line that says so, where there was one."""
        step = before.undo[-1]
        taken = next((line for known, line in self._steps if known is step), None)
        if taken is None:
            return None
        taken.withdrawn = taken.struck = True
        taken.notes.append(Phrase("notes.taken_back"))
        hydration = None if taken.hydration_pct is None else self._batch.hydration_pct
        what = Phrase("lines.taken_back", {"line": taken.what})
        return _Line(self._now, what, event, hydration_pct=hydration)

    def _remember(self, before: State, event: ev.Event, after: State, line: _Line | None) -> None:
        """Keep with each step that can be undone the line that its withdrawal strikes."""
        # A restart moves the times of all steps: they are the same, but not the same objects.
        old = before.undo if isinstance(event, ev.StationStarted | TimeOffKnown) else after.undo
        lines = {id(step): known for step, known in self._steps}
        if old and old[-1] is not (before.undo[-1] if before.undo else None):
            lines.setdefault(id(old[-1]), line)
        self._steps = [(step, lines.get(id(was))) for step, was in zip(after.undo, old, strict=True)]

    def _follow_intervals(self, event: ev.Event, after: State, line: _Line | None) -> None:
        """End a mix or rest whose timer is gone or rings; go on where a withdrawal brought the timer back."""
        intervals = [one.interval for one in self._lines if one.interval is not None and not one.withdrawn]
        running = {timer.name for timer in after.timers if not timer.ringing} if after.batch else set[str]()
        begun = None if line is None else line.interval
        for interval in intervals:
            goes_on = interval.timer in running and (begun is None or begun is interval)
            if interval.ended_s is None and not goes_on:
                interval.ended_s, interval.rang = self._now.since_s, isinstance(event, ev.TimerRang)
        if isinstance(event, ev.Withdrawn):
            for timer in running:
                back = [one for one in intervals if one.timer == timer and not one.rang]
                if back:
                    back[-1].ended_s = None

    def _follow_question(self, event: ev.Event, line: _Line | None) -> None:
        """Note the answer to the question that is open; a restart leaves it without one."""
        if isinstance(event, ev.QuestionSettled | ev.StationStarted) and self._question is not None:
            yes = event.yes if isinstance(event, ev.QuestionSettled) else None
            answer = "no_answer" if yes is None else "yes" if yes else "no"
            self._question.notes.append(Phrase(f"notes.{answer}"))
            self._question = None
        if isinstance(event, ev.QuestionAsked):
            self._question = line

    def _wet(self) -> Moment | None:
        """Its first wet contact."""
        if self._batch.wet_at is None:
            return None
        first = next((one for one in self._batch.entries if one.is_wet), None)
        return self._opened if first is None else self._entered[first.number]

    def _unclean(self) -> Moment | None:
        """Since when the machine is unclean, by this batch or by those before."""
        opening = self._opening
        if self._cleaned or not isinstance(opening, ev.BatchOpened) or opening.food is None:
            return None
        if opening.unclean_since is None:
            return self._wet()
        return self._opened.plus(opening.unclean_since - opening.at)

    def sheet(self) -> Sheet:
        """What came of it."""
        batch, held = self._batch, self._batch.contents
        standing = [line.event for line in self._lines if not line.withdrawn]
        early = [event.early for event in standing if isinstance(event, ev.ExtrudingStarted)]
        verdicts = [event.verdict for event in standing if isinstance(event, ev.CrumbJudged)]
        return Sheet(
            number=batch.number,
            opened=self._opened,
            ended=self._ended,
            outcome=self._outcome,
            lot=batch.lot,
            target_pct=batch.target_pct,
            low_pct=batch.low_pct,
            high_pct=batch.high_pct,
            flour_g=batch.flour_g,
            water_g=batch.water_g,
            scrap_g=batch.scrap_g,
            crumb=verdicts[-1] if verdicts else None,
            extruded_early=early[0] if early else None,
            dies=tuple(event.die for event in standing if isinstance(event, ev.DieNamed)),
            trays=batch.trays,
            portions=batch.portions,
            lines=tuple(_finished(line, batch) for line in self._lines),
            certain=self._certain,
            clock_told=self._clock_told,
            recipe=batch.recipe,
            allergens=batch.plan.allergens if batch.plan else (),
            flours=tuple(name for name, share in batch.plan.flours if share > 0) if batch.plan else (),
            additions=batch.additions,
            to_come=batch.to_come,
            carried_g=held.carried_g if batch.additions_told else None,
            dry_g=held.dry_g,
            out_g=held.out_g,
            out_flour_g=held.flour_out_g,
            granulation=batch.granulation,
            carried_over=batch.carried_over,
            food=batch.food,
            wet=self._wet(),
            unclean=self._unclean(),
        )


def _finished(line: _Line, batch: Batch) -> SheetLine:
    """A line with what became of it: corrected since, or how long it ran."""
    struck, notes = line.struck, list(line.notes)
    if line.entry is not None and not struck:
        place, grams = line.entry
        now = batch.entries[place].grams
        if abs(now - grams) > _SAME_G:
            struck = True
            notes.append(Phrase("notes.corrected", {"grams": now}))
    if line.interval is not None and not line.withdrawn:
        began, ended = line.interval.began_s, line.interval.ended_s
        notes.append(
            Phrase("notes.running") if ended is None else Phrase("notes.ran", {"seconds": ended - began})
        )
    return SheetLine(line.moment, line.what, line.source, line.hydration_pct, struck, tuple(notes))

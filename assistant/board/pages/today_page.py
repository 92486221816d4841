"""Today: what was made, what has to be cold by when, and the plan against the clock. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from assistant.batch.record.clocks.food_rules import FOOD_CODE, FoodRules
from assistant.batch.record.state import State
from assistant.batch.record.timer_kinds import tray_of
from assistant.board.pages.page_blocks import Block, Cell, Facts, Grid, Lines, Page, Ways, to_batch, to_lot
from assistant.board.pages.page_words import PageWords
from assistant.config.day_plan import DayPlan, plan_time
from assistant.dough.shift_plan import PlannedBatch
from assistant.ports import Stamp
from assistant.sheets import Sheet, SheetWords
from assistant.sheets.day_account import day_of
from assistant.sheets.formats import time_of_day
from assistant.sheets.layout import food_values

LATE_S = 60.0
"""A batch of the plan is late from here on (s): its start is named to the minute."""


@dataclass(frozen=True, slots=True)
class TodayFacts:
    """What the page is made from."""

    sheets: Sequence[Sheet]
    """Of the batches that are open or ended today, oldest first."""
    state: State
    last: Stamp | None
    """Of the journal's last event: what station times are counted from."""
    plan: DayPlan | None
    wall: float
    """Wall time now (s since 1970)."""
    wall_trusted: bool
    food: FoodRules = FOOD_CODE
    """Rules of food safety that the kitchen goes by."""
    gone: Sequence[str] = ()
    """Parts of the running station that do not work."""


def today_page(
    facts: TodayFacts, words: PageWords, sheet_words: SheetWords, zone: tzinfo | None = None
) -> Page:
    """The page of the day."""
    day = words.text("today.day", day=day_of(facts.wall, zone))
    first = day if facts.wall_trusted else f"{day} ({words.text('clock_not_set')})"
    blocks: list[Block] = [
        Lines((first, *_gone(facts.gone, words))),
        _sums(facts.sheets, words, sheet_words),
        batch_grid(facts.sheets, words, sheet_words, zone),
        _cold(facts, words, zone),
        Lines((_rules(facts.food, sheet_words),)),
        *_plan(facts, words, sheet_words, zone),
        Ways(words.text("ways.label"), _ways(words)),
    ]
    return Page(words.text("title.today"), blocks)


def _ways(words: PageWords) -> tuple[Cell, ...]:
    """The ways to the batches, and to the sheet of the day."""
    return Cell(words.text("ways.day_sheet"), "/paper/day"), Cell(words.text("ways.all_batches"), "/batches")


def _gone(parts: Sequence[str], words: PageWords) -> tuple[str, ...]:
    """The line of what does not work, if anything does not."""
    return (words.text("today.gone", parts=", ".join(map(words.name, parts))),) if parts else ()


def _sums(sheets: Iterable[Sheet], words: PageWords, sheet_words: SheetWords) -> Facts:
    counted = [one for one in sheets if one.outcome != "taken back"]
    closed = [one for one in counted if one.outcome == "closed"]
    lots = tuple(dict.fromkeys(one.lot for one in closed if one.lot is not None))
    values = {
        "batches": str(len(closed)),
        "dropped": str(sum(one.outcome == "dropped" for one in counted)),
        "flour": sheet_words.mass(sum(one.flour_g for one in counted)),
        "portions": str(sum(one.portions for one in closed)),
        "scrap": sheet_words.mass(sum(one.scrap_g for one in closed)),
        "lots": ", ".join(lots) or words.text("nothing"),
    }
    return Facts(tuple((words.text(f"today.{key}"), Cell(value)) for key, value in values.items()))


def batch_grid(
    sheets: Iterable[Sheet], words: PageWords, sheet_words: SheetWords, zone: tzinfo | None
) -> Grid:
    """A row a batch."""
    nothing = Cell(words.text("nothing"))
    rows = tuple(
        (
            to_batch(one.number),
            Cell(sheet_words.word("outcome", one.outcome)),
            Cell(sheet_words.clock(one.opened, zone)),
            nothing if one.lot is None else to_lot(one.lot),
            Cell(words.name(one.recipe)) if one.recipe else nothing,
            Cell(sheet_words.mass(one.flour_g)),
            Cell(sheet_words.percent(one.hydration_pct)),
            Cell(sheet_words.word("crumb", one.crumb)) if one.crumb else nothing,
            Cell(str(one.portions)),
            Cell(sheet_words.mass(one.scrap_g)),
        )
        for one in sheets
    )
    names = ["batch", "state", "opened", "lot", "recipe", "flour", "hydration", "crumb", "portions", "scrap"]
    head = tuple(words.text(f"head.{one}") for one in names)
    empty = words.text("today.none.batches")
    return Grid(words.text("today.heading.batches"), head, rows, empty, frozenset({5, 6, 8, 9}))


def _cold(facts: TodayFacts, words: PageWords, zone: tzinfo | None) -> Grid:
    """Trays and open dough with when they have to be cold, and the machine with when it has to be clean."""
    state, found = facts.state, list[tuple[float, bool, str]]()
    for timer in state.timers:
        if timer.kind == "tray":
            batch, tray = tray_of(timer.name)
            found.append((timer.due, timer.certain, words.text("cold.tray", batch=batch, tray=tray)))
    dough = state.batch
    if dough is not None and dough.wet_at is not None and not dough.trays:
        food = dough.food_rules
        text = words.text("cold.dough", batch=dough.number, celsius=food.celsius)
        found.append((dough.wet_at + food.cold_s, dough.time_certain, text))
    if state.unclean is not None:
        found.append((state.unclean.due, state.unclean.certain, words.text("cold.clean")))
    rows = tuple(
        (Cell(text), Cell(_by(due, facts, words, zone, certain=certain)))
        for due, certain, text in sorted(found)
    )
    head = (words.text("head.what"), words.text("head.by_when"))
    return Grid(words.text("today.heading.cold"), head, rows, words.text("today.none.cold"))


def _rules(food: FoodRules, sheet_words: SheetWords) -> str:
    """What is to be cold and clean by when, and who says so."""
    values = food_values(food, sheet_words)
    said, source = (sheet_words.text(f"cautions.down_to_cold.{key}", **values) for key in ("text", "source"))
    return f"{said} ({source})"


def _by(due: float, facts: TodayFacts, words: PageWords, zone: tzinfo | None, *, certain: bool) -> str:
    """A station time as a time of day, by the journal's last stamp."""
    last = facts.last
    if last is None or not last.wall_trusted:
        return words.text("clock_not_set")
    wall = last.wall + due - last.monotonic
    how = "over" if wall <= facts.wall else "by" if certain else "about"
    return words.text(f"cold.{how}", time=time_of_day(wall, zone))


def _plan(facts: TodayFacts, words: PageWords, sheet_words: SheetWords, zone: tzinfo | None) -> list[Block]:
    names = ["start", "state", "die", "recipe", "flour", "portions"]
    head = tuple(words.text(f"head.{one}") for one in names)
    plan = facts.plan
    rows = tuple(
        (
            Cell(one.start),
            Cell(_standing(one, facts, words, zone)),
            Cell(words.name(one.die)),
            Cell(words.name(one.recipe) if one.recipe else words.text("nothing")),
            Cell(sheet_words.mass(one.flour_g)),
            Cell(str(one.portions)),
        )
        for one in (plan.batches if plan else ())
    )
    heading, empty = words.text("today.heading.plan"), words.text("today.none.plan")
    found: list[Block] = [Grid(heading, head, rows, empty, frozenset({4, 5}))]
    if plan is not None:
        day = plan.day or words.text("nothing")
        found.append(Lines((words.text("plan.service", time=plan.service, day=day),)))
    return found


def _standing(one: PlannedBatch, facts: TodayFacts, words: PageWords, zone: tzinfo | None) -> str:
    """How far a planned batch is, by the clock on the wall."""
    batch = facts.state.batch
    if batch is not None and batch.planned == one.key:
        return words.text("plan.open")
    if one.key in facts.state.made:
        return words.text("plan.made")
    now = datetime.fromtimestamp(facts.wall, UTC).astimezone(zone)
    time = plan_time(facts.plan, now) if facts.wall_trusted and facts.plan else None
    if time is None:
        return words.text("plan.unknown")
    late = time.late_s(one)
    if late < LATE_S:
        return words.text("plan.to_come")
    hours, minutes = divmod(int(late // 60), 60)
    if hours:
        return words.text("plan.late_hours", time=f"{hours}:{minutes:02}")
    return words.text("plan.late", minutes=minutes)

"""A batch's events, with the stamps that they were written under, make its sheet. Pure."""

from collections.abc import Iterable

from assistant.batch.decide.after_the_die import TRAY_LIMIT_S
from assistant.batch.record import events as ev
from assistant.batch.record import shift_events as sh
from assistant.batch.record.evolve import evolve
from assistant.batch.record.state import State
from assistant.batch.record.timer_kinds import INTERVALS
from assistant.journal.summaries import batch_of
from assistant.ports import Stamp
from assistant.sheets import words
from assistant.sheets.draft import SheetDraft
from assistant.sheets.sheet import Sheet


def build_sheet(events: Iterable[tuple[Stamp, ev.Event]]) -> Sheet:
    """Sheet of one batch from its events, oldest first, as a journal's `batch(number)` gives them.

    Raises ValueError where they don't begin with an opening.
    """
    (stamp, opening), *rest = events
    if not isinstance(opening, ev.BatchOpened):
        raise ValueError(f"a batch begins with BatchOpened, not with {type(opening).__name__}")
    draft = SheetDraft(stamp, opening)
    for later, event in rest:
        draft.take(later, event, _tell)
    return draft.sheet()


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


def _tell(draft: SheetDraft, event: ev.Event) -> None:
    """Change the account by an event, and tell of it in a line where a cook would look for one."""
    _tell_account(draft, event)
    _tell_time(draft, event)
    _tell_making(draft, event)
    _tell_talk(draft, event)
    _tell_walk(draft, event)


def _tell_account(draft: SheetDraft, event: ev.Event) -> None:
    match event:
        case ev.WaterAdded():
            draft.enter("water", event.entry, event.grams, event.source)
        case ev.FlourAdded():
            draft.enter("flour", event.entry, event.grams, event.source)
        case ev.ScrapWeighed():
            draft.enter("scrap", event.entry, event.grams, event.source)
        case ev.EntryCorrected():
            draft.correct(event)
        case ev.EntryWeighed():
            by = "the jug" if event.source == "jug" else "the cook"
            draft.row(f"the same pour by {by}: {words.grams(event.grams)}")
        case ev.TargetSet():
            marks = (event.target_pct, event.low_pct, event.high_pct)
            draft.change(marks=marks)
            notes = [f"low {words.percent(event.low_pct)}, high {words.percent(event.high_pct)}"]
            draft.row(f"target {words.percent(event.target_pct)}", notes=notes)
        case ev.LotNamed():
            draft.change(lot=event.lot)
            draft.row(f"lot {event.lot}")
        case ev.ConditionTold():
            unit = "%" if event.what == "humidity" else "C"
            draft.row(f"{event.what} {event.value:g} {unit}")
        case _:
            pass


def _tell_time(draft: SheetDraft, event: ev.Event) -> None:
    match event:
        case ev.MixStarted():
            draft.begin("mix", event.seconds)
        case ev.RestStarted():
            draft.begin("rest", event.seconds)
        case ev.MixEnded() | ev.RestEnded():
            draft.end_intervals()
        case ev.TimerStopped() | ev.TimerAcknowledged() if event.name in INTERVALS:
            draft.end_intervals()
        case ev.TimerRang() if event.name in INTERVALS:
            draft.end_intervals(for_good=True)
        case ev.TimerExtended() if event.name in INTERVALS:
            draft.row(f"{event.name} {words.length(event.seconds)} more")
        case _:
            pass


def _tell_making(draft: SheetDraft, event: ev.Event) -> None:
    match event:
        case ev.CrumbJudged():
            draft.end_intervals()
            draft.change(crumb=event.verdict)
            draft.row(f"crumb {event.verdict}", hydration=event.hydration_pct)
        case ev.ExtrudingStarted():
            draft.end_intervals()
            early = draft.account.early
            draft.change(early=event.early if early is None else early)
            draft.row("extruding", notes=["early: no crumb was called ready"] if event.early else [])
        case ev.DieNamed():
            draft.change(dies=(*draft.account.dies, event.die))
            draft.row(f"die {event.die}")
        case ev.TrayFilled():
            draft.change(trays=event.tray)
            draft.row(f"tray {event.tray}")
        case ev.PortionsCounted():
            draft.change(portions=draft.account.portions + event.count)
            draft.row(f"portions {event.count}")
        case ev.BatchClosed():
            draft.end("closed")
            draft.row("batch closed")
        case ev.BatchDropped():
            draft.end("dropped")
            draft.row("batch dropped")
        case _:
            pass


def _tell_talk(draft: SheetDraft, event: ev.Event) -> None:
    match event:
        case ev.QuestionAsked():
            draft.ask(f"asked: {words.command(event.command)}?", event.source, words.REASONS[event.reason])
        case ev.QuestionSettled():
            draft.answer("no answer" if event.yes is None else "yes" if event.yes else "no")
        case ev.StationStarted():
            draft.answer("no answer")
            note = "time off not known: what follows may be later than told"
            draft.row("station restarted", notes=[] if event.certain else [note])
        case _:
            pass


def _tell_walk(draft: SheetDraft, event: ev.Event) -> None:
    match event:
        case sh.DieWarmed():
            draft.row("die warm")
        case sh.TrayChilled():
            late = [] if event.seconds < TRAY_LIMIT_S else ["over four hours"]
            draft.row(
                f"tray {event.tray} of batch {event.batch} cold",
                notes=[f"after {words.length(event.seconds)}", *late],
            )
        case sh.CutterTold():
            length = "" if event.length_mm is None else f", pieces {words.number(event.length_mm)} mm"
            draft.row(f"cutter at {words.number(event.speed)}{length}")
        case sh.WalkBegan():
            draft.row(f"{event.walk} begun")
        case sh.StepSettled():
            notes = ["skipped"] if event.outcome == "skipped" else []
            notes += ["safety step"] if event.safety else []
            draft.row(f"{event.walk} {event.step}: {event.text}", notes=notes)
        case sh.WalkLeft():
            draft.row(f"{event.walk} left")
        case sh.WalkResumed():
            draft.row(f"{event.walk} goes on")
        case sh.WalkEnded():
            draft.row(f"{event.walk} over", notes=[f"{event.skipped} skipped"] if event.skipped else [])
        case _:
            pass

"""The calendar that `crumbcall plan --calendar` writes: the plan, the trays that wait, what is to be used."""

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from assistant.app.application import Application
from assistant.app.keeping.reading import read_journal
from assistant.cli.planning.remarks import local, service_day
from assistant.config.day_plan import DayPlan
from assistant.config.settings import Settings
from assistant.dough.shift_plan import ShiftPace
from assistant.errors import JournalError
from assistant.sheets import SheetWords, build_sheet
from assistant.sheets.appointments.icalendar_file import calendar_text, write_calendar
from assistant.sheets.appointments.machine_zone import machine_zone
from assistant.sheets.appointments.of_the_day import Appointment, of_plan, of_trays, of_use_by


def pace_of(settings: Settings, learned: Mapping[str, float]) -> ShiftPace:
    """How long the kitchen's machine takes. `learned`: what a die puts through, where known (g a minute)."""
    rules, wanted = settings.rules, settings.plan
    return ShiftPace(
        target_pct=rules.target_pct,
        portion_g=rules.portion_g,
        hopper_g=rules.hopper_g,
        loss_pct=wanted.loss_pct,
        first_mix_s=rules.first_mix_s,
        target_mix_s=rules.target_mix_s,
        rest_s=rules.rest_s,
        extrude_g_per_min=wanted.extrude_g_per_min,
        changeover_s=wanted.changeover_s,
        learned_g_per_min=learned,
    )


def write_day(file: Path, app: Application, plan: DayPlan, wall: float) -> None:
    """Write the calendar by this plan, at this wall time (s since 1970). Raises SettingsError, one line."""
    words = SheetWords.of(app.home, app.settings.station.language)
    zone = machine_zone()
    now = local(wall, zone)
    day = plan.day or service_day(plan.service, now)
    pace = pace_of(app.settings, plan.learned)
    found = [*of_plan(plan, day, pace, app.recipes.plans, words, zone), *_made(app, words, now)]
    written = calendar_text(found, words.text("calendar.name"), datetime.fromtimestamp(wall, UTC))
    write_calendar(file, written)


def _made(app: Application, words: SheetWords, now: datetime) -> list[Appointment]:
    """Trays that wait and days of use-by; none where the journal can't be read, which the plan says."""
    if not app.home.journal_file.exists():
        return []
    zone, days = machine_zone(), app.settings.label.use_by_days
    try:
        with read_journal(app.home.journal_file) as journal:
            state, last = journal.load()
            batches = journal.batches()
            sheet_of = cache(lambda number: build_sheet(journal.batch(number)))
            trays = of_trays(state, last, batches, app.rules.tray_warn_s, words, zone) if last else ()
            return [*trays, *of_use_by(batches, sheet_of, days, now.date(), words, zone)]
    except JournalError:
        return []

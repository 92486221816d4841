"""Labels and sheets out of a home folder: what the journal says, in the words of the station."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path

from assistant.app.keeping.reading import read_journal
from assistant.app.paper.kitchen_allergens import kitchen_allergens, refuse_unknown
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.config.station_settings import StationSettings
from assistant.devices.printer.label_sizes import LABEL_SIZES
from assistant.errors import JournalError, PaperError
from assistant.sheets import Sheet, SheetWords, build_sheet
from assistant.sheets.allergens import REGIONS
from assistant.sheets.day_account import day_figures
from assistant.sheets.label import Label, Tray, label_of
from assistant.sheets.paper.day_record import AFTER_S, DayRecord, day_record
from assistant.sheets.paper.fitting import one_page, set_labels
from assistant.sheets.paper.paper_pages import Look, day_page, label_page, sheet_page
from assistant.sheets.paper.paper_style import STYLE, paper_style
from assistant.sheets.paper.typesetting import Printout, picture_of

HEADS = {"usb", "network", "serial", "file"}
"""Kinds of printer whose head has so many dots across."""


@dataclass(frozen=True, slots=True)
class Documents:
    """Makes labels and sheets of one home."""

    home: Home
    settings: Settings
    words: SheetWords

    @classmethod
    def of(cls, home: Home) -> "Documents":
        """Of a home. Raises SettingsError, GrammarError."""
        settings = Settings.load(home.settings_file)
        return cls(home, settings, SheetWords.of(home, settings.station.language))

    @property
    def look(self) -> Look:
        """How pages are set."""
        return Look(self.settings.station.language, self.settings.printer.paper)

    def sheet(self, number: int | None) -> Sheet:
        """Sheet of a batch; None: the last one. Raises JournalError."""
        with read_journal(self.home.journal_file) as journal:
            lines = journal.batches()
            if not lines:
                raise JournalError("No batch yet; open one with: new batch, and the flour.")
            found = build_sheet(journal.batch(number or lines[-1].number))
        return replace(found, station=self.station_name)

    @property
    def station_name(self) -> str:
        """Name of the station where it was given one: "kitchen" says nothing to whoever has one station."""
        named = self.settings.station.id
        return "" if named == StationSettings().id else named

    def labels(self, number: int | None, trays: Sequence[Tray] | None) -> list[Label]:
        """Labels of a batch's trays; `trays` None: one for each. Raises JournalError, RecipeError."""
        sheet = self.sheet(number)
        wanted = [Tray(one) for one in range(1, sheet.trays + 1)] if trays is None else trays
        for tray in wanted:
            if tray.number is not None and tray.number > sheet.trays:
                trays_told = f"{sheet.trays or 'no'} {'tray' if sheet.trays == 1 else 'trays'}"
                raise JournalError(
                    f"batch {sheet.number} has {trays_told}, not {tray.number}; "
                    "say tray done for each, or leave --tray out."
                )
        chosen = self.settings.label.allergen_list
        regions = REGIONS if chosen == "both" else (chosen,)
        found = kitchen_allergens(self.home, self.settings, recipes=True).of(sheet)
        refuse_unknown(found, regions, sheet.recipe)
        days = self.settings.label.use_by_days
        maker = self.settings.label.maker
        made = partial(label_of, sheet, self.words, found, regions=regions, days=days, maker=maker)
        return [made(tray=tray) for tray in wanted or [Tray()]]

    def label_pages(self, labels: Sequence[Label], size: str | None = None) -> tuple[Look, Printout]:
        """Labels set on a size; None: that of the settings. Raises PaperError."""
        printer = self.settings.printer
        head = printer.dots_across / printer.dots_per_mm if printer.kind in HEADS else None
        return set_labels(labels, LABEL_SIZES[size or printer.label], self.look, head)

    def label_preview(self, labels: Sequence[Label], size: str | None = None) -> str:
        """Labels as a page for a browser, set as they are printed. Raises PaperError."""
        look, _ = self.label_pages(labels, size)
        return label_page(labels, LABEL_SIZES[size or self.settings.printer.label], look, preview=True)

    def sheet_page(self, number: int | None) -> tuple[str, Printout]:
        """The sheet of a batch on one page, as HTML and as printout. Raises JournalError, PaperError."""
        sheet, kitchen = self.sheet(number), kitchen_allergens(self.home, self.settings)

        def page(look: Look, most: int | None) -> str:
            return sheet_page(sheet, self.words, kitchen, look, most_lines=most)

        title = self.words.text("sheet.title", number=sheet.number)
        return one_page(title, page, len(sheet.lines), self.look)

    def day_page(self, day: str) -> tuple[str, Printout]:
        """The sheet of a day, as 2026-03-02, likewise."""
        record = self.day(day)

        def page(look: Look, most: int | None) -> str:
            shown = record if most is None else replace(record, batches=record.batches[:most])
            return day_page(shown, self.words, look, left_out=len(record.batches) - len(shown.batches))

        title = self.words.text("day.title", day=record.day)
        return one_page(title, page, len(record.batches), self.look)

    def day(self, day: str) -> DayRecord:
        """The record of a day, as 2026-03-02. Raises JournalError."""
        noon = datetime.fromisoformat(f"{day}T12:00").timestamp()
        with read_journal(self.home.journal_file) as journal:
            batches, read = journal.batches(), journal.batch
            stock = read_stock(self.home.config / LOTS_FILE)
            figures = day_figures(batches, read, noon, stock=stock)
            events = journal.read(journal.before(noon - AFTER_S))
            found = day_record(day, events, batches, read, figures, stock=stock)
        return replace(found, station=self.station_name)


def keep_page(file: Path, html: str) -> None:
    """Write a page, and its style sheet beside it. Raises PaperError."""
    written(file, html.encode())
    written(file.parent / STYLE, paper_style().encode())


def keep_pictures(file: Path, made: Printout, per_mm: float) -> list[Path]:
    """Write each page as a picture, those behind the first with its number in the name. Raises PaperError."""
    pages = made.dots(per_mm)
    names = [file, *(file.with_stem(f"{file.stem}-{number}") for number in range(2, len(pages) + 1))]
    for name, dots in zip(names, pages, strict=True):
        written(name, picture_of(dots, per_mm))
    return names


def written(file: Path, content: bytes) -> None:
    """Write a file. Raises PaperError, one line."""
    try:
        file.write_bytes(content)
    except OSError as error:
        raise PaperError(f"{file} can't be written ({error.strerror}); choose another place.") from None

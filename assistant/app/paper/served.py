"""Sheets and labels for a server of pages: HTML with one linked style sheet, and nothing inline."""

from dataclasses import replace

from assistant.app.paper.documents import Documents
from assistant.app.paper.kitchen_allergens import kitchen_allergens
from assistant.devices.printer.label_sizes import LABEL_SIZES
from assistant.sheets.paper.paper_pages import Look, day_page, label_page, sheet_page
from assistant.sheets.paper.paper_style import points_for


class ServedPaper:
    """Makes pages of a home; `style`: address at which its style sheet is served."""

    def __init__(self, documents: Documents, style: str) -> None:
        self._documents = documents
        self._look: Look = replace(documents.look, style=style)

    def sheet(self, number: int | None = None) -> str:
        """The sheet of a batch; None: the last one. Raises JournalError."""
        made = self._documents
        kitchen = kitchen_allergens(made.home, made.settings)
        sheet = made.sheet(number)
        points = points_for(len(sheet.lines), self._look.paper)
        return sheet_page(sheet, made.words, kitchen, self._look.sized(points))

    def labels(self, number: int | None = None, size: str | None = None) -> str:
        """One label for each tray of a batch, as printed. Raises JournalError, RecipeError, PaperError."""
        made = self._documents
        labels = made.labels(number, None)
        look = self._look.sized(made.label_pages(labels, size)[0].points)
        return label_page(labels, LABEL_SIZES[size or made.settings.printer.label], look, preview=True)

    def day(self, day: str) -> str:
        """The sheet of a day, as 2026-03-02. Raises JournalError."""
        return day_page(self._documents.day(day), self._documents.words, self._look)

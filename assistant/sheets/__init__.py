"""What a batch leaves on paper: its sheet, its label, the list of batches. Pure: events in, pages out."""

from assistant.sheets.batches import batch_table
from assistant.sheets.build import batch_sheet, build_sheet
from assistant.sheets.layout import sheet_markdown, sheet_text
from assistant.sheets.sheet import Sheet
from assistant.sheets.wording import SheetWords

__all__ = [
    "Sheet",
    "SheetWords",
    "batch_sheet",
    "batch_table",
    "build_sheet",
    "sheet_markdown",
    "sheet_text",
]

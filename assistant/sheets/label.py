"""The label of a tray as text: batch, lot, made, use by, allergens. Pure; days are of `zone`, None: the machine's own.

Use by: the day it was made is day 1, seven days a house ceiling. US Food Code 3-501.17 says seven for ready-to-eat
food at 5 C (41 F), which raw pasta is not: the local code and the kitchen's own shorter time count.
"""

import textwrap
from datetime import datetime, timedelta, tzinfo

from assistant.sheets.allergens import allergens_of
from assistant.sheets.sheet import Sheet

MOST_DAYS = 7
_WIDTH = 72


def label_text(
    sheet: Sheet, tray: int | None = None, days: int = MOST_DAYS, zone: tzinfo | None = None
) -> str:
    """Label of a batch's tray; without a set clock the dates are left to be written by hand."""
    found = allergens_of(sheet.allergens, [addition.name for addition in sheet.additions])
    die = sheet.dies[-1] if sheet.dies else "fresh pasta"
    made, use_by = "________ (clock not set: write it)", "________"
    if sheet.opened.wall_trusted:
        day = datetime.fromtimestamp(sheet.opened.wall, zone).date()
        made, use_by = f"{day}", f"{day + timedelta(days=days - 1)}, made on day 1 of {days}"
    rows = [
        ("pasta", f"{die}{f', {sheet.recipe}' if sheet.recipe else ''}, raw"),
        ("batch", f"{sheet.number}{f', tray {tray}' if tray is not None else ''}"),
        ("lot", sheet.lot or "not named"),
        ("made", made),
        ("use by", use_by),
        ("EU, UK", f"contains {', '.join(found.eu)}"),
        ("US", f"contains {', '.join(found.us)}"),
        *(("mind", note) for note in found.notes),
        (
            "keep",
            "at 5 C (41 F) or below, there within 4 hours of making; cook it through, do not taste it raw",
        ),
        ("check", "against your local code and your own list of allergens: they come first"),
    ]
    return "\n".join(line for name, value in rows for line in _row(name, value))


def _row(name: str, value: str) -> list[str]:
    lead = f"{name:<8}"
    return textwrap.wrap(value, _WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))

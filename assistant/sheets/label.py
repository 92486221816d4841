"""The label of a tray as text: batch, lot, made, use by, allergens. Pure.

Use by: the day it was made is day 1, seven days the most that the settings allow. US Food Code 3-501.17 says
seven for ready-to-eat food at 5 C (41 F), which raw pasta is not: the local code and the kitchen's own
shorter time count.
"""

import textwrap
from datetime import datetime, timedelta, tzinfo

from assistant.sheets.allergens import allergens_of
from assistant.sheets.formats import date_and_time
from assistant.sheets.layout import food_values
from assistant.sheets.sheet import Sheet
from assistant.sheets.wording import SheetWords

MOST_DAYS = 7
_WIDTH = 72


def label_text(
    sheet: Sheet,
    words: SheetWords,
    *,
    tray: int | None = None,
    days: int = MOST_DAYS,
    zone: tzinfo | None = None,
) -> str:
    """Label of a batch's tray; days are of `zone`, None: the machine's own.

    Without a set clock the dates are left to be written by hand.
    """
    text = words.text
    # What nobody told of may be in all the same: it is declared.
    ingredients = [addition.name for addition in (*sheet.additions, *sheet.to_come)]
    found = allergens_of(sheet.allergens, ingredients, words)
    die = sheet.dies[-1] if sheet.dies else text("label.any_die")
    made, use_by = text("label.made_unknown"), text("label.use_by_unknown")
    if sheet.opened.wall_trusted:
        day = datetime.fromtimestamp(sheet.opened.wall, zone).date()
        made, use_by = f"{day}", text("label.use_by", date=day + timedelta(days=days - 1), days=days)
    rows = [
        ("pasta", text("label.pasta", die=die, recipe=sheet.recipe)),
        ("batch", text("label.batch", number=sheet.number, tray=tray)),
        ("lot", sheet.lot or text("label.no_lot")),
        ("made", made),
        ("cold_by", _cold_by(sheet, words, zone)),
        ("use_by", use_by),
        ("eu", text("label.contains", allergens=", ".join(found.eu))),
        ("us", text("label.contains", allergens=", ".join(found.us))),
        *(("mind", note) for note in found.notes),
        ("keep", text("label.keep", **food_values(sheet.food_rules, words))),
        ("check", text("label.check")),
    ]
    named = [(text(f"label.head.{name}"), value) for name, value in rows]
    width = max(len(name) for name, _ in named) + 2
    return "\n".join(line for name, value in named for line in _row(f"{name:<{width}}", value))


def _cold_by(sheet: Sheet, words: SheetWords, zone: tzinfo | None) -> str:
    """When it has to be down to cold holding."""
    at, celsius = sheet.cold_by, sheet.food_rules.celsius
    if at is None or not (at.wall_trusted and sheet.certain):
        return words.text("label.cold_by_unknown", celsius=celsius)
    return words.text("label.cold_by", when=date_and_time(at.wall, zone), celsius=celsius)


def _row(lead: str, value: str) -> list[str]:
    return textwrap.wrap(value, _WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))

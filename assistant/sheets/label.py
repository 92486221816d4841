"""The label of a tray: what it is, how much, when it was made, till when, allergens. Pure.

Cold by: dough from ingredients at room temperature is to be at 5 C (41 F) within four hours, US Food Code
3-501.14(B); they count from the first water on the flour, not from the tray. Use by: the day it was made is
day 1, seven days the most that the settings allow. US Food Code 3-501.17 says seven for ready-to-eat food at
5 C (41 F), which raw pasta is not: the local code and the kitchen's own shorter time count. What batches
before left in a machine that was not cleaned down since may be in it, and a line says so (voluntary,
Regulation (EU) 1169/2011, article 36, from memory). No label says gluten-free: that is a claim of at most
20 mg/kg (Regulation (EU) 828/2014 and 21 CFR 101.91, both from memory). Weights are those of the account, an
even share of it where a batch has several trays: for sale they are weighed.
"""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo

from assistant.sheets.allergens import REGIONS, Found
from assistant.sheets.formats import date_and_time
from assistant.sheets.sheet import Sheet
from assistant.sheets.wording import SheetWords

MOST_DAYS = 7
_WIDTH = 72


@dataclass(frozen=True, slots=True)
class Tray:
    """What is known of one tray."""

    number: int | None = None
    """None: the label is that of the batch."""
    weight_g: float | None = None
    """As weighed (g); None: by the account."""
    portions: int | None = None
    """As counted; None: the batch's, where it is all in one place."""


@dataclass(frozen=True, slots=True)
class LabelRow:
    """A row of a label."""

    name: str
    """Which it is: a key of `label.head` in `sheets.toml`."""
    head: str
    value: str
    allergens: tuple[str, ...] = ()
    """Parts of the value that name allergens, to be set apart from the rest of it."""


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says, in the words of a language."""

    pasta: str
    """What it is."""
    origin: str
    """Which tray, batch and lot."""
    rows: tuple[LabelRow, ...]
    maker: str = ""
    """Who made it, and where; empty: not said."""


def label_of(
    sheet: Sheet,
    words: SheetWords,
    allergens: Found,
    *,
    tray: Tray | None = None,
    regions: Sequence[str] = REGIONS,
    days: int = MOST_DAYS,
    maker: str = "",
    zone: tzinfo | None = None,
) -> Label:
    """Label of a batch's tray; times are of `zone`, None: the machine's own.

    `maker`: who made it and where, which labels must have in the EU (Regulation (EU) 1169/2011, article
    9(1)(h), from memory). Without a set clock the times are left to be written by hand, and so is what nobody
    weighed or counted.
    """
    text, tray = words.text, tray or Tray()
    made, cold_by, use_by = _times(sheet, words, days, zone)
    rows: list[tuple[str, str, tuple[str, ...]]] = [
        ("weight", _weight(sheet, words, tray), ()),
        ("portions", _portions(sheet, words, tray), ()),
        ("made", made, ()),
        ("cold_by", cold_by, ()),
        ("use_by", use_by, ()),
        *((region, *_contains(allergens, words, region)) for region in regions),
    ]
    if allergens.carried:
        carried = tuple(words.word("allergen", one) for one in allergens.carried)
        rows.append(("traces", text("label.may_contain", allergens=", ".join(carried)), carried))
    named = (LabelRow(name, text(f"label.head.{name}"), value, found) for name, value, found in rows)
    return Label(*_title(sheet, words, tray), tuple(named), maker)


def label_text(label: Label) -> str:
    """A label as plain text."""
    width = max(len(row.head) for row in label.rows) + 2
    lines = [line for row in label.rows for line in _row(f"{row.head:<{width}}", row.value)]
    made = textwrap.wrap(label.maker, _WIDTH) if label.maker else []
    return "\n".join([label.pasta, label.origin, *lines, *made])


def _title(sheet: Sheet, words: SheetWords, tray: Tray) -> tuple[str, str]:
    die = sheet.dies[-1] if sheet.dies else words.text("label.any_die")
    pasta = words.text("label.pasta", die=die, recipe=sheet.recipe)
    batch = words.text("label.of_batch", number=sheet.number, lot=sheet.lot)
    if tray.number is None:
        return pasta, batch
    trays = sheet.trays if _is_shared(sheet) else None
    return pasta, f"{words.text('label.tray', tray=tray.number, trays=trays)}, {batch}"


def _weight(sheet: Sheet, words: SheetWords, tray: Tray) -> str:
    if tray.weight_g is not None:
        return words.mass(tray.weight_g)
    if tray.number is None or (sheet.trays == 1 and _is_shared(sheet)):
        return words.mass(sheet.net_g)
    if not _is_shared(sheet):
        return words.text("label.blank")
    return words.text("label.share", grams=round(sheet.net_g / sheet.trays, -1))


def _portions(sheet: Sheet, words: SheetWords, tray: Tray) -> str:
    if tray.portions is not None:
        return f"{tray.portions}"
    whole = tray.number is None or (sheet.trays == 1 and _is_shared(sheet))
    if not sheet.portions or not (whole or _is_shared(sheet)):
        return words.text("label.blank")
    if whole:
        return f"{sheet.portions}"
    return words.text("label.share_portions", count=round(sheet.portions / sheet.trays))


def _is_shared(sheet: Sheet) -> bool:
    """Whether all trays are there, so that each has its share."""
    return sheet.outcome != "open"


def _times(sheet: Sheet, words: SheetWords, days: int, zone: tzinfo | None) -> tuple[str, str, str]:
    """Made at, cold by, use by."""
    blank, celsius = words.text("label.blank"), sheet.food_rules.celsius
    wet, cold_by = sheet.wet or sheet.opened, sheet.cold_by
    known = wet.wall_trusted and sheet.certain
    when = date_and_time(cold_by.wall, zone) if known and cold_by is not None else blank
    cold = words.text("label.cold_by", when=when, celsius=celsius)
    if not known:
        return words.text("label.clock_not_set"), cold, blank
    return date_and_time(wet.wall, zone), cold, f"{sheet.use_by(days, zone)}"


def _contains(allergens: Found, words: SheetWords, region: str) -> tuple[str, tuple[str, ...]]:
    """What a list declares, and the allergens in it."""
    declared = allergens.declared(region, words)
    if not declared:
        return words.text("label.contains_none"), ()
    return words.text("label.contains", allergens=", ".join(declared)), declared


def _row(lead: str, value: str) -> list[str]:
    return textwrap.wrap(value, _WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))

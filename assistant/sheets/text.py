"""A sheet as plain text and as Markdown. Pure; times of day are of `zone`, or the machine's own where it is None."""

from collections.abc import Sequence
from datetime import tzinfo

from assistant.sheets import words
from assistant.sheets.cautions import CAUTIONS
from assistant.sheets.sheet import Sheet, SheetLine

_HEAD = ("time", "since", "what", "by", "hydration", "notes")
_RIGHT = frozenset({1, 4})


def sheet_text(sheet: Sheet, zone: tzinfo | None = None) -> str:
    """Plain text; a struck line stands between ~ signs."""
    width = max(len(label) for label, _ in _facts(sheet, zone))
    facts = [f"{label + ':':<{width + 1}} {value}" for label, value in _facts(sheet, zone)]
    rows: list[Sequence[str]] = [_HEAD, *(_row(line, zone, "~") for line in sheet.lines)]
    cautions = [f"- {caution.text} ({caution.source})" for caution in CAUTIONS]
    return "\n".join([_title(sheet), "", *facts, "", *columns(rows, _RIGHT), "", *cautions, ""])


def sheet_markdown(sheet: Sheet, zone: tzinfo | None = None) -> str:
    """Markdown; a struck line is struck."""
    facts = [f"- {label}: {_escaped(value)}" for label, value in _facts(sheet, zone)]
    rule = ["---:" if index in _RIGHT else "---" for index in range(len(_HEAD))]
    rows = [[_escaped(cell) for cell in _row(line, zone, "~~")] for line in sheet.lines]
    table = [f"| {' | '.join(cells)} |" for cells in (_HEAD, rule, *rows)]
    cautions = [f"- {caution.text} *({caution.source})*" for caution in CAUTIONS]
    parts = [f"# {_title(sheet)}", "", *facts, "", *table, "", "## Mind", "", *cautions, ""]
    return "\n".join(parts)


def _title(sheet: Sheet) -> str:
    return f"Batch {sheet.number}"


def _facts(sheet: Sheet, zone: tzinfo | None) -> list[tuple[str, str]]:
    """What is told above the lines: label and value."""
    opened = words.date_and_time(sheet.opened.wall, trusted=sheet.opened.wall_trusted, zone=zone)
    marks = f"{words.percent(sheet.target_pct)}, low {words.percent(sheet.low_pct)}, high {words.percent(sheet.high_pct)}"
    facts = [("opened", opened), (sheet.outcome, _ended(sheet, zone)), ("lot", sheet.lot or "not named")]
    if sheet.recipe is not None:
        allergens = ", ".join(sheet.allergens) or "none named"
        facts.append(("recipe", f"{sheet.recipe}; allergens by its file: {allergens}"))
    facts += [
        ("with", f"{words.grams(one.grams)} {one.name}, {words.grams(one.water_g)} of it water")
        for one in sheet.additions
    ]
    facts += [
        ("target", marks),
        ("flour", words.grams(sheet.flour_g)),
        ("water", words.grams(sheet.water_g)),
        ("hydration", words.percent(sheet.hydration_pct)),
        ("dough", words.grams(sheet.dough_g)),
        ("scrap", words.grams(sheet.scrap_g)),
        ("net", f"{words.grams(sheet.net_g)}, {words.percent(sheet.yield_pct)} of the dough"),
        ("crumb", sheet.crumb or "not called"),
    ]
    if sheet.extruded_early is not None:
        early = "before the crumb was called ready" if sheet.extruded_early else "crumb called ready before"
        facts.append(("extruded", early))
    facts.append(("die", ", ".join(sheet.dies) or "not named"))
    facts.append(("trays", str(sheet.trays)))
    facts.append(("portions", str(sheet.portions)))
    if not sheet.certain:
        facts.append(("times", "uncertain after a restart: the time off is not known"))
    return facts


def _ended(sheet: Sheet, zone: tzinfo | None) -> str:
    if sheet.ended is None:
        return "not ended"
    when = words.date_and_time(sheet.ended.wall, trusted=sheet.ended.wall_trusted, zone=zone)
    return f"{when}, {words.length(sheet.ended.since_s)} after opening"


def _row(line: SheetLine, zone: tzinfo | None, strike: str) -> list[str]:
    hydration = "" if line.hydration_pct is None else words.percent(line.hydration_pct)
    return [
        words.clock(line.moment, zone),
        words.length(line.moment.since_s),
        f"{strike}{line.what}{strike}" if line.struck else line.what,
        line.source or "",
        f"{strike}{hydration}{strike}" if line.struck and hydration else hydration,
        "; ".join(line.notes),
    ]


def _escaped(cell: str) -> str:
    """A cell that can't break its table: names come from whoever speaks or types."""
    return cell.replace("\\", "\\\\").replace("|", "\\|").replace("\n", " ")


def columns(rows: Sequence[Sequence[str]], right: frozenset[int]) -> list[str]:
    """Rows of cells as aligned lines, two blanks between; `right`: columns that are set to the right."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = (
            f"{cell:>{width}}" if index in right else f"{cell:<{width}}"
            for index, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  ".join(cells).rstrip())
    return lines

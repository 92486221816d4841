"""Export a journal: one pass over its events into rows, then each table to its file."""

import json
from collections.abc import Mapping
from datetime import tzinfo
from pathlib import Path

from assistant.config.flour_lots import StockedLot
from assistant.errors import JournalError
from assistant.journal.exporting.descriptor import descriptor
from assistant.journal.exporting.event_rows import Rows
from assistant.journal.exporting.spool import Spool
from assistant.journal.exporting.tables import TABLES
from assistant.journal.exporting.text_files import WRITERS
from assistant.journal.exporting.whole_files import whole_files
from assistant.journal.exporting.workbook import need_openpyxl, write_workbook
from assistant.journal.reader import OpenJournal

WORKBOOK = ".xlsx"
DESCRIPTOR = "datapackage.json"
FILES = {".csv", ".tsv", ".json", ".jsonl", ".xls", ".ods", ".zip", ".txt"}
"""Ends of a name by which somebody means one file, where there is none of that kind."""


def export(
    journal: OpenJournal,
    target: Path,
    stock: Mapping[str, StockedLot],
    *,
    form: str = "csv",
    force: bool = False,
    zone: tzinfo | None = None,
) -> int:
    """Write all tables: into a folder as `form`, or, where the name ends in .xlsx, into a workbook.

    Times are of `zone`, None: the machine's. Returns how many rows there were. Raises JournalError, one line,
    where something is there already (and `force` is false) or can't be written: nothing is changed then.
    """
    if target.suffix.lower() == WORKBOOK:
        need_openpyxl()
        with whole_files([target], force=force) as (part,), _spooled(journal, stock) as spool:
            return write_workbook(part, ((one, spool.rows(one)) for one in TABLES.values()), zone)
    if target.suffix.lower() in FILES and not target.exists():
        raise JournalError(
            f"{target}: a folder gets a file a table; name one without {target.suffix}, or a workbook "
            f"that ends in {WORKBOOK}."
        )
    if target.exists() and not target.is_dir():
        raise JournalError(f"{target}: it is a file; name a folder, or a workbook that ends in {WORKBOOK}.")
    files = [*(target / f"{name}.{form}" for name in TABLES), target / DESCRIPTOR]
    with whole_files(files, force=force) as (*parts, described), _spooled(journal, stock) as spool:
        pairs = zip(parts, TABLES.values(), strict=True)
        count = sum(WRITERS[form](part, table, spool.rows(table), zone) for part, table in pairs)
        text = json.dumps(descriptor(form), indent=2, ensure_ascii=False)
        described.write_text(text + "\n", encoding="utf-8")
        return count


def _spooled(journal: OpenJournal, stock: Mapping[str, StockedLot]) -> Spool:
    """All rows of a journal."""
    spool = Spool()
    try:
        rows = Rows(spool)
        for passage in journal.history():
            rows.take(passage)
        rows.finish(stock)
    except BaseException:
        spool.close()
        raise
    return spool

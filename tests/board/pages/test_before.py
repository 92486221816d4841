"""The pages of journals that earlier versions wrote: every kind of event is in them, and every page shows."""

import shutil
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date
from pathlib import Path

import pytest

from assistant.app.application import open_application
from assistant.app.pages.board_pages import page_sources
from assistant.board.pages.page_blocks import Drawn
from assistant.board.pages.page_readings import Readings
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.journal.store import SqliteJournal
from assistant.sheets.charts.drawing import svg_of
from assistant.sheets.day_account import day_of
from tests.journal.test_before import BEFORE, VERSIONS


@pytest.mark.parametrize("version", VERSIONS)
def test_every_page_of_an_older_journal(version: str, tmp_path: Path) -> None:
    home = Home.find(tmp_path)
    shutil.copyfile(BEFORE / f"journal-{version}.db", home.journal_file)
    clock = ScriptedClock()
    with closing(SqliteJournal.open(home.journal_file, clock)) as journal:
        batches, (_, last) = journal.batches(), journal.load()
    assert last is not None
    clock.set_wall(last.wall)
    readings = Readings(replace(page_sources(open_application(home), clock), zone=UTC))
    pages = [readings.batch(one.number) for one in batches]
    pages += [readings.today(), readings.batches(None), readings.lots(), readings.year(None)]
    pages += [readings.lot(one.lot) for one in batches if one.lot is not None]
    pages += [readings.hearing(date.fromisoformat(day_of(one.opened_wall, UTC))) for one in batches]
    assert None not in pages
    drawn = [block.figure for page in pages if page for block in page.blocks if isinstance(block, Drawn)]
    assert len([svg_of(figure) for figure in drawn if not figure.empty]) >= len(batches)

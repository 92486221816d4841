"""What each setting is for, on the page of an Italian kitchen: a sentence for each, and for nothing else."""

from pathlib import Path

import msgspec

from assistant.app.pages.board_pages import SETTINGS_WORDS
from assistant.board.pages.page_blocks import Grid
from assistant.board.pages.page_words import PageWords
from assistant.board.pages.settings_page import settings_page
from assistant.config.resources import grammar_folder
from assistant.config.settings import Settings
from assistant.nlg.names import read_names


def test_every_setting_and_nothing_else_is_described_in_italian() -> None:
    about = read_names([grammar_folder("it") / SETTINGS_WORDS])
    settings = {
        f"{section.name}.{one.name}"
        for section in msgspec.structs.fields(Settings)
        for one in msgspec.structs.fields(section.type)
    }
    assert about.keys() == settings


def test_the_page_shows_them_and_what_is_lacking_in_english() -> None:
    words = PageWords.load(grammar_folder("it") / "pages.toml")
    page = settings_page(Settings(), Path("settings.toml"), words, {"scale.rate": "misure al secondo"})
    (scale,) = (one for one in page.blocks if isinstance(one, Grid) and one.heading == "[scale]")
    what = [row[-1].text for row in scale.rows]
    assert what == ["converter behind the jug's load cell", "misure al secondo"]

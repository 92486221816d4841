"""The settings that the running station goes by, and which of them are the kitchen's own. Pure."""

from collections.abc import Mapping
from pathlib import Path

import msgspec

from assistant.board.pages.page_blocks import Block, Cell, Grid, Lines, Page
from assistant.board.pages.page_words import PageWords
from assistant.config.settings import Settings
from assistant.config.toml_words import description, shown


def settings_page(settings: Settings, file: Path, words: PageWords, about: Mapping[str, str]) -> Page:
    """A table a section, in the order of the settings. `file`: where they are changed.

    `about`: what settings are for, as section.name, where the language has a sentence of its own.
    """
    head = tuple(words.text(f"settings.head.{one}") for one in ("setting", "value", "from", "what"))
    blocks: list[Block] = [Lines((words.text("settings.note", file=file.name),))]
    for section in msgspec.structs.fields(Settings):
        values = getattr(settings, section.name)
        rows = []
        for one in msgspec.structs.fields(section.type):
            value = getattr(values, one.name)
            own = "default" if value == one.default else "own"
            rows.append(
                (
                    Cell(one.name),
                    Cell(shown(value)),
                    Cell(words.text(f"settings.{own}")),
                    Cell(about.get(f"{section.name}.{one.name}", description(one.type))),
                )
            )
        blocks.append(Grid(f"[{section.name}]", head, tuple(rows), words.text("nothing")))
    return Page(words.text("title.settings"), blocks)

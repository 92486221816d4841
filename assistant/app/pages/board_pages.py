"""What the pages are made from, put together from a home folder."""

from assistant.app.application import Application
from assistant.app.paper.page_apart import PaperApart
from assistant.board.pages.page_words import PageWords
from assistant.board.pages.sources import PAPER_STYLE_AT, PageSources
from assistant.config.day_plan import FILE as PLAN_FILE
from assistant.config.day_plan import read_plan
from assistant.config.flour_lots import FILE as LOTS_FILE
from assistant.config.flour_lots import read_stock
from assistant.config.language.card_groups import FILE as CARD_FILE
from assistant.config.language.card_groups import read_card_groups
from assistant.journal.heard_counts import FOLDER as HEARD_FOLDER
from assistant.journal.reader import JournalReader
from assistant.nlg.names import read_names
from assistant.ports import Clock
from assistant.sheets import SheetWords
from assistant.sheets.phrase_card import BETWEEN, card_blocks
from assistant.station.alive.heartbeat import Heartbeat

SETTINGS_WORDS = "settings.toml"
"""File of a language with what each setting is for; English has it in the settings themselves."""


def page_sources(app: Application, clock: Clock) -> PageSources:
    """Sources of the pages. Raises a CrumbcallError, one clear line, for words that can't be read."""
    home, language = app.home, app.settings.station.language
    sheet_words = SheetWords.of(home, language)
    groups = read_card_groups(home.language_file(CARD_FILE, language))
    card = card_blocks(groups, app.grammar.phrases(), sheet_words)
    return PageSources(
        journal=lambda: JournalReader.open(home.journal_file),
        clock=clock,
        words=PageWords.of(home, language),
        sheet_words=sheet_words,
        settings=app.settings,
        settings_file=home.settings_file,
        settings_about=read_names(home.language_files(SETTINGS_WORDS, language)),
        plans=app.recipes.plans,
        stock=lambda: read_stock(home.config / LOTS_FILE),
        plan=lambda: read_plan(home.data / PLAN_FILE),
        card=tuple((block.heading, tuple(map(BETWEEN.join, block.rules))) for block in card),
        paper=PaperApart(home, PAPER_STYLE_AT),
        heard=home.data / HEARD_FOLDER,
        gone=lambda: _gone(app.heartbeat(clock)),
        group=home.group_file if app.settings.sync.server else None,
    )


def _gone(heartbeat: Heartbeat) -> list[str]:
    """Parts that do not work, by the last sign of life of a station that runs."""
    beat = heartbeat.read()
    return beat.gone.split(",") if beat is not None and beat.gone and heartbeat.lives() else []

"""What the pages are made from: the journal, what the kitchen wrote down, words and clock. Only read."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path
from typing import Protocol

from assistant.board.pages.page_words import PageWords
from assistant.config.day_plan import DayPlan
from assistant.config.flour_lots import StockedLot
from assistant.config.settings import Settings
from assistant.dough.recipe import RecipePlan
from assistant.journal.reader import JournalReader
from assistant.ports import Clock
from assistant.sheets import SheetWords


class PaperPages(Protocol):
    """Pages as they are printed, as HTML that links `PAPER_STYLE_AT`. Each may raise CrumbcallError."""

    def sheet(self, number: int) -> str:
        """The sheet of a batch."""

    def labels(self, number: int) -> str:
        """The labels of a batch, one for each tray."""

    def day(self, day: str) -> str:
        """The sheet of a day, as 2026-03-02."""


PAPER_STYLE_AT = "/paper/paper.css"
"""Where the style sheet of all paper is served."""


@dataclass(frozen=True, slots=True)
class PageSources:
    """Where each page reads. Callables are asked at each request, and may raise CrumbcallError."""

    journal: Callable[[], JournalReader]
    """Opens the journal; the page closes it."""
    clock: Clock
    words: PageWords
    sheet_words: SheetWords
    settings: Settings
    """As the running program has them."""
    settings_file: Path
    settings_about: Mapping[str, str]
    """What settings are for in the station's language, as section.name; what it lacks is said in English."""
    plans: Mapping[str, RecipePlan]
    """Recipes by name."""
    stock: Callable[[], Mapping[str, StockedLot]]
    """Lots on the shelf."""
    plan: Callable[[], DayPlan | None]
    """The plan of the day."""
    card: Sequence[tuple[str, tuple[str, ...]]]
    """Headings of the phrase card, each with what is said under it."""
    paper: PaperPages
    heard: Path
    """Folder of the counts of hearing."""
    gone: Callable[[], Sequence[str]] = tuple
    """Parts of the running station that do not work."""
    group: Path | None = None
    """Copy of what the other stations of the group know; None: there is no group."""
    zone: tzinfo | None = None
    """The kitchen's; None: the machine's own."""

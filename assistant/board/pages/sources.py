"""What the pages are made from: the journal, what the kitchen wrote down, words and clock. Only read."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path

from assistant.board.pages.page_words import PageWords
from assistant.config.day_plan import DayPlan
from assistant.config.flour_lots import StockedLot
from assistant.config.settings import Settings
from assistant.dough.recipe import RecipePlan
from assistant.journal.reader import JournalReader
from assistant.ports import Clock
from assistant.sheets import SheetWords


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
    heard: Path
    """Folder of the counts of hearing."""
    gone: Callable[[], Sequence[str]] = tuple
    """Parts of the running station that do not work."""
    group: Path | None = None
    """Copy of what the other stations of the group know; None: there is no group."""
    zone: tzinfo | None = None
    """The kitchen's; None: the machine's own."""

"""The list of batches, a line each. Pure."""

from collections.abc import Sequence
from datetime import tzinfo
from functools import cache

from assistant.journal.summaries import BatchSummary
from assistant.sheets.layout import columns
from assistant.sheets.wording import SheetWords

_COLUMNS = ("batch", "opened", "flour", "water", "hydration", "crumb", "lot", "state")
_RIGHT = frozenset({0, 2, 3, 4})


def batch_table(lines: Sequence[BatchSummary], words: SheetWords, zone: tzinfo | None = None) -> list[str]:
    """A head and a line a batch; a sentence where there is none. `zone` None: the machine's own."""
    if not lines:
        return [words.text("batches.none")]
    head = [words.text(f"batches.head.{name}") for name in _COLUMNS]
    nothing = words.text("batches.nothing")
    # Of tens of thousands of batches most have a mass, a hydration or a word that was written before.
    mass, percent, word = cache(words.mass), cache(words.percent), cache(words.word)
    rows = [
        [
            str(line.number),
            words.date_and_time(line.opened_wall, trusted=line.opened_trusted, zone=zone),
            mass(line.flour_g),
            mass(line.water_g),
            percent(line.hydration_pct),
            word("crumb", line.crumb) if line.crumb else nothing,
            line.lot or nothing,
            word("outcome", line.outcome),
        ]
        for line in lines
    ]
    return columns([head, *rows], _RIGHT)

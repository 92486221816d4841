"""The list of batches, a line each. Pure."""

from collections.abc import Sequence
from datetime import tzinfo

from assistant.journal.summaries import BatchSummary
from assistant.sheets import words
from assistant.sheets.text import columns

_HEAD = ("batch", "opened", "flour", "water", "hydration", "crumb", "lot", "state")
_RIGHT = frozenset({0, 2, 3, 4})


def batch_table(lines: Sequence[BatchSummary], zone: tzinfo | None = None) -> list[str]:
    """A head and a line a batch; a sentence where there is none. `zone` None: the machine's own."""
    if not lines:
        return ["No batch yet."]
    rows = [
        (
            str(line.number),
            words.date_and_time(line.opened_wall, trusted=line.opened_trusted, zone=zone),
            words.grams(line.flour_g),
            words.grams(line.water_g),
            words.percent(line.hydration_pct),
            line.crumb or "-",
            line.lot or "-",
            line.outcome,
        )
        for line in lines
    ]
    return columns([_HEAD, *rows], _RIGHT)

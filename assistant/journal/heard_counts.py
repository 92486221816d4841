"""How well the station hears, counted by quarter hours: numbers alone, no word and no sound is kept.

One small JSON file a day (UTC) in a folder of its own. What is counted is each stretch of speech that was
recognised, by what became of it and by how far it stood above the noise.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal, get_args

import msgspec

from assistant.errors import JournalError

FOLDER = "heard"
QUARTER_S = 900.0

Became = Literal["acted", "asked", "not_understood", "left_alone"]
"""Acted on at once; asked about first, because it was not heard well; the cook was told that it was not
understood; or left alone: talk, or a sentence that nothing fitted. Which of these the station can't tell."""
BECAME: tuple[Became, ...] = get_args(Became)

RATIO_EDGES_DB = (6.0, 12.0, 18.0)
"""Edges between the bands of speech above noise (dB); below the first commands are no longer heard reliably
(`hearing.health`)."""
BANDS = len(RATIO_EDGES_DB) + 2
"""Bands of speech above noise, the last for what is not known."""


class Quarter(msgspec.Struct, frozen=True):
    """A quarter of an hour."""

    start: float
    """Wall time (s since 1970), a multiple of `QUARTER_S`."""
    clock_set: bool
    """Whether the wall clock was set all through it."""
    noise_dbfs: float | None
    """Mean level of the room when something was heard (dBFS); None: not known."""
    counts: dict[str, tuple[int, ...]]
    """What became of it -> how often, by band of speech above noise."""

    def count(self, became: Became) -> int:
        """How often this became of what was heard."""
        return sum(self.counts.get(became, ()))

    @property
    def heard(self) -> int:
        """All that was heard."""
        return sum(map(sum, self.counts.values()))


def band_of(ratio_db: float | None) -> int:
    """Band of a ratio of speech to noise (dB)."""
    if ratio_db is None:
        return BANDS - 1
    return sum(ratio_db >= edge for edge in RATIO_EDGES_DB)


def write_day(folder: Path, quarters: Iterable[Quarter]) -> None:
    """Keep the quarters of one day, in the place of what was kept of it. Raises OSError."""
    kept = list(quarters)
    file = _file(folder, kept[0].start)
    folder.mkdir(parents=True, exist_ok=True)
    part = file.with_suffix(".part")
    part.write_bytes(msgspec.json.encode(kept))
    part.replace(file)


def read_heard(folder: Path, since: float, until: float) -> list[Quarter]:
    """Quarters that began from `since` on and before `until` (s since 1970), oldest first.

    Raises JournalError (one line) where a file can't be read.
    """
    found, day = list[Quarter](), datetime.fromtimestamp(since, UTC).date()
    while day <= datetime.fromtimestamp(until, UTC).date():
        found += _read(folder / f"{day}.json")
        day += timedelta(days=1)
    return [one for one in found if since <= one.start < until]


def day_before(folder: Path, wall: float) -> list[Quarter]:
    """What is kept of the UTC day that a wall time is in; nothing where it is damaged: counting goes on."""
    try:
        return _read(_file(folder, wall))
    except JournalError:
        return []


def total(quarters: Iterable[Quarter]) -> Mapping[Became, tuple[int, ...]]:
    """Counts of several quarters together."""
    sums = {became: [0] * BANDS for became in BECAME}
    for quarter in quarters:
        for became, counts in sums.items():
            for band, count in enumerate(quarter.counts.get(became, ())[:BANDS]):
                counts[band] += count
    return {became: tuple(counts) for became, counts in sums.items()}


def _file(folder: Path, wall: float) -> Path:
    return folder / f"{datetime.fromtimestamp(wall, UTC).date()}.json"


def _read(file: Path) -> list[Quarter]:
    try:
        return msgspec.json.decode(file.read_bytes(), type=list[Quarter])
    except FileNotFoundError:
        return []
    except (OSError, msgspec.DecodeError, UnicodeDecodeError) as error:
        raise JournalError(f"{file}: these counts can't be read ({error}); move the file away.") from None

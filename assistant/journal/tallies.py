"""What a year is told of: a line a batch, from the few events that it takes, however many there are. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from assistant.batch.record.events import (
    CrumbJudged,
    EntryCorrected,
    Event,
    PortionsCounted,
    ScrapWeighed,
    Withdrawn,
)
from assistant.journal.summaries import BatchSummary

OF_A_TALLY: tuple[type[Event], ...] = (CrumbJudged, EntryCorrected, PortionsCounted, ScrapWeighed, Withdrawn)
"""Events of a batch that a tally is made from."""
_NAMES = frozenset(kind.__name__ for kind in OF_A_TALLY)


@dataclass(frozen=True, slots=True)
class Tally:
    """A batch as it counts in a year."""

    batch: BatchSummary
    scrap_g: float
    """Dough that was trimmed or lost (g)."""
    portions: int
    checks: int
    """How often its crumb was judged."""
    over: bool
    """Whether its crumb was called wet: more water than it wanted."""


def tallies(batches: Iterable[BatchSummary], events: Mapping[int, Sequence[Event]]) -> list[Tally]:
    """A line a batch; `events`: those of `OF_A_TALLY` of each batch, oldest first."""
    return [_tally(batch, events.get(batch.number, ())) for batch in batches]


def _tally(batch: BatchSummary, events: Iterable[Event]) -> Tally:
    standing = _standing(events)
    scrap: dict[int, float] = {}
    for event in standing:
        match event:
            case ScrapWeighed():
                scrap[event.entry] = event.grams
            case EntryCorrected() if event.entry in scrap:
                scrap[event.entry] = event.grams
    verdicts = [event.verdict for event in standing if isinstance(event, CrumbJudged)]
    portions = sum(event.count for event in standing if isinstance(event, PortionsCounted))
    return Tally(batch, sum(scrap.values()), portions, len(verdicts), "wet" in verdicts)


def _standing(events: Iterable[Event]) -> list[Event]:
    """Events without those that were taken back: a withdrawal takes the last of its kind."""
    standing: list[Event] = []
    for event in events:
        if not isinstance(event, Withdrawn):
            standing.append(event)
        elif event.what in _NAMES:
            last = max(at for at, one in enumerate(standing) if type(one).__name__ == event.what)
            del standing[last]
    return standing

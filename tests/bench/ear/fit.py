"""How well the true sentence fits what real people say, and what the network writes without any grammar."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from assistant.ports import Sound
from tests.bench.ear.beside import THREE, among, cut, label, machines
from tests.bench.ear.ears import Ear, Fit
from tests.bench.ear.figures import Figures, grouped, share
from tests.bench.ear.people import PARTS, Split, Spoken, voiced
from tests.bench.hearing.report import table

GOOD_COST = 1.4
"""What a sentence might cost with the packaged weights before a probability took the limit's place."""
Word = Sequence[tuple[str, ...]]


@dataclass(frozen=True)
class Fitted:
    """A sentence of a real person as one ear hears it."""

    ear: str
    group: str
    snr: str
    fit: Fit


def fits(ears: Sequence[Ear], said: Sequence[Spoken], speech: Path, split: Split) -> Iterable[Fitted]:
    """Every sentence in quiet and noise by every ear."""
    around = machines(PARTS[split], speech)
    for seed, one in enumerate(said):
        voice = voiced(one.pcm())
        for snr in THREE:
            sound = Sound(cut(among(voice, snr, around, seed)))
            for ear in ears:
                yield Fitted(ear.name, one.group, label(snr), ear.fit(sound, one.text))


def phone_errors(heard: Sequence[str], words: Iterable[Word]) -> tuple[int, int]:
    """Least exchanges, omissions and insertions against the words, and the phones of that reading.

    Each word counts in the one of its spellings that fits best.
    """
    row = [(place, 0) for place in range(len(heard) + 1)]
    for word in words:
        row = [min(ways) for ways in zip(*(_after(row, way, heard) for way in word), strict=True)]
    return row[-1]


def _after(row: list[tuple[int, int]], way: Sequence[str], heard: Sequence[str]) -> list[tuple[int, int]]:
    for phone in way:
        above, row = row, [(row[0][0] + 1, row[0][1] + 1)]
        for place, other in enumerate(heard):
            exchanged, n_exchanged = above[place]
            omitted, n_omitted = above[place + 1]
            inserted, n_inserted = row[place]
            row.append(
                min(
                    (exchanged + (phone != other), n_exchanged + 1),
                    (omitted + 1, n_omitted + 1),
                    (inserted + 1, n_inserted),
                )
            )
    return row


def fit_table(results: Sequence[Fitted], figures: Figures) -> str:
    """Share of sentences that fit well enough, median cost and phone error rate, by ear and noise."""
    rows = []
    for (ear, snr, group), some in grouped(results, lambda one: (one.ear, one.snr), lambda one: one.group):
        alone = share(some, lambda one: one.fit.alone)
        below = share(some, lambda one: one.fit.cost < GOOD_COST)
        cost = median(one.fit.cost for one in some)
        rows.append([ear, snr, group, len(some), alone, below, f"{cost:.2f}", _phones_wrong(some)])
        figures[ear, f"fit {snr}, {group}"] = alone
    head = ["ear", "noise", "speakers", "n", "acted on if alone %", f"cost below {GOOD_COST:g} %"]
    return table([*head, "median cost", "phones wrong %"], rows)


def _phones_wrong(results: Sequence[Fitted]) -> str:
    """Phone error rate in %; none of two networks at once."""
    counts = [phone_errors(one.fit.heard, one.fit.words) for one in results if one.fit.heard is not None]
    wrong, phones = sum(count[0] for count in counts), sum(count[1] for count in counts)
    return f"{100 * wrong / phones:.1f}" if phones else "-"

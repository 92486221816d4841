"""Real people's sentences in grammars of transcripts: which sentence is taken, and what is acted on."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.ports import Sound
from tests.bench.ear.beside import THREE, among, cut, label, machines
from tests.bench.ear.ears import Ear
from tests.bench.ear.figures import Figures, grouped, share
from tests.bench.ear.people import PARTS, Split, Spoken, sampled, voiced
from tests.bench.hearing.report import table

CANDIDATES = 500


@dataclass(frozen=True)
class Chosen:
    """What one ear took a sentence for."""

    ear: str
    group: str
    snr: str
    said: str
    heard: str
    outcome: str
    """acted, asked or silent."""

    @property
    def right(self) -> bool:
        """Whether the best sentence is the true one."""
        return self.heard == self.said


def by_length(texts: Sequence[str], n_phones: Sequence[int], size: int) -> list[list[str]]:
    """All texts in groups of `size` of about one length; the last overlaps the one before it."""
    ordered = [text for _, text in sorted(zip(n_phones, texts, strict=True))]
    begins = [*range(0, max(1, len(ordered) - size), size), max(0, len(ordered) - size)]
    return [ordered[begin : begin + size] for begin in dict.fromkeys(begins)]


def mixed_lengths(texts: Sequence[str], said: Sequence[Spoken], size: int) -> list[str]:
    """What is said, and others by chance up to `size` in all."""
    own = {one.text for one in said}
    others = [text for text in texts if text not in own]
    return sorted([*own, *sampled(others, max(0, size - len(own)), "whole grammar")])


def choices(
    ears: Sequence[Ear],
    groups: Iterable[Sequence[str]],
    said: Sequence[Spoken],
    speech: Path,
    split: Split,
) -> Iterator[Chosen]:
    """Every sentence, in quiet and noise, among the first group that holds it, by every ear."""
    around = machines(PARTS[split], speech)
    waiting = list(enumerate(said))
    for group in groups:
        known = frozenset(group)
        own = [(seed, one) for seed, one in waiting if one.text in known]
        waiting = [(seed, one) for seed, one in waiting if one.text not in known]
        if not own:
            continue
        recognisers = [(ear, ear.among(group)) for ear in ears]
        for seed, one in own:
            voice = voiced(one.pcm())
            for snr in THREE:
                sound = Sound(cut(among(voice, snr, around, seed)))
                for ear, recogniser in recognisers:
                    found = recogniser.recognise(sound)
                    outcome = ear.outcome(found)
                    yield Chosen(ear.name, one.group, label(snr), one.text, found.text, outcome)


def choice_table(results: Sequence[Chosen], figures: Figures, name: str) -> str:
    """Share of sentences taken for what they are, and of those acted on, by ear, noise and speakers."""
    rows = []
    for (ear, snr, group), some in grouped(results, lambda one: (one.ear, one.snr), lambda one: one.group):
        right = share(some, lambda one: one.right)
        acted = share(some, lambda one: one.right and one.outcome == "acted")
        wrong = share(some, lambda one: not one.right and one.outcome == "acted")
        asked = share(some, lambda one: one.outcome == "asked")
        rows.append([ear, snr, group, len(some), right, acted, wrong, asked])
        of_right = share([one for one in some if one.right], lambda one: one.outcome == "acted")
        figures[ear, f"{name} right {snr}, {group}"] = right
        figures[ear, f"{name} wrong {snr}, {group}"] = wrong
        figures[ear, f"{name} acted of right {snr}, {group}"] = of_right
    head = ["ear", "noise", "speakers", "n", "right %", "right, acted on %", "wrong, acted on %", "asked %"]
    return table(head, rows)

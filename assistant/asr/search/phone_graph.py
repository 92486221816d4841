"""The word graph of a grammar spelled in phones, as flat arrays that a decoder can sweep.

All arcs of the word graph that lead to one state on one word are a step: it is spelled once, in one chain of
phones per pronunciation, however many states it is entered from. The states of the word graph are the
junctions between chains. Within a chain the rules of CTC hold (Graves et al. 2006, "Connectionist Temporal
Classification"): a blank may come between any two phones and must come between two equal ones. In a junction
any number of blanks and word-boundary symbols may pass.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.ports import WordGraph

Pronunciations = Callable[[str], Sequence[Sequence[int]]]
"""Word -> its pronunciations, each a non-empty run of symbol numbers."""

Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Lists:
    """A list of numbers for each row, one after the other."""

    items: Index
    starts: Index
    """Where each list begins, and where the last one ends; shape (rows + 1,)."""

    @classmethod
    def of(cls, rows: Index, items: Index, n_rows: int) -> "Lists":
        """From pairs of a row and an item, in any order."""
        order = np.argsort(rows, kind="stable")
        ends = np.cumsum(np.bincount(rows, minlength=n_rows))
        return cls(items[order], np.append(0, ends).astype(np.intp))

    def joined(self, rows: Index) -> tuple[Index, Index]:
        """The items of some rows, one list after the other, and how many each of the rows has."""
        starts = self.starts[rows]
        counts = self.starts[rows + 1] - starts
        return self.items[ranges(starts, counts)], counts

    def pairs(self) -> tuple[Index, Index]:
        """Rows and items, a pair each."""
        counts = np.diff(self.starts)
        return np.repeat(np.arange(len(counts)), counts), self.items


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """All arcs of the word graph on one word into one state."""

    word: str
    sources: tuple[int, ...]
    """States that they leave, ascending."""


@dataclass(frozen=True, slots=True, eq=False)
class PhoneGraph:
    """Chains of phones between junctions; chains are sorted by the junction they lead to, then by step.

    An entry is a way out of a junction: the first `n_states` are the junctions themselves, the others are
    junctions seen by a chain whose first phone equals the last phone of a chain before it: from that one it
    can't be entered without a blank. A gate is a set of entries: the ways into a chain.
    """

    words: WordGraph
    label: Index
    """Symbol of each phone, shape (phones,)."""
    first: Index
    """Place of each chain's first phone, shape (chains,)."""
    last: Index
    """Place of each chain's last phone, shape (chains,)."""
    repeated: Index
    """Places of the phones that equal the phone before them in the same chain."""
    steps: tuple[Step, ...]
    step: Index
    """Step that each chain spells, ascending, shape (chains,)."""
    gate: Index
    """Gate of each chain, shape (chains,)."""
    entry_source: Index
    """Junction of each entry, shape (entries,)."""
    opens: Lists
    """Gates that each entry belongs to."""
    follows: Lists
    """Entries that may directly follow each chain: that of its junction, and those that its last phone leaves
    open."""
    reached: Index
    """Junctions that some chain ends in, ascending."""
    reached_start: Index
    """First chain that ends in each of them."""

    @property
    def n_chains(self) -> int:
        """Number of chains."""
        return len(self.first)

    def chains_into(self, states: Sequence[int]) -> Index:
        """Chains that end in one of these junctions, which ascend; so do they."""
        wanted = np.asarray(states, dtype=np.intp)
        place = np.searchsorted(self.reached, wanted)
        place = place[np.append(self.reached, -1)[place] == wanted]
        starts = np.append(self.reached_start, self.n_chains)
        return ranges(starts[place], starts[place + 1] - starts[place])

    def spelling(self, step: int) -> list[Index]:
        """Symbols of each chain of a step."""
        lo, hi = np.searchsorted(self.step, [step, step + 1])
        return [self.phones(chain) for chain in range(lo, hi)]

    def phones(self, chain: int) -> Index:
        """Symbols of a chain, in order."""
        return self.label[self.first[chain] : self.last[chain] + 1]

    def only(self, steps: NDArray[np.bool_]) -> "PhoneGraph":
        """The chains of these steps alone; shape (steps,). Numbers of steps and states stay."""
        kept = steps[self.step]
        chains = np.flatnonzero(kept)
        length = self.last[chains] - self.first[chains] + 1
        places = ranges(self.first[chains], length)
        repeated = np.zeros(len(self.label), dtype=np.bool_)
        repeated[self.repeated] = True
        gates, gate = np.unique(self.gate[chains], return_inverse=True)
        entry, opened = self.opens.pairs()
        used = np.isin(opened, gates)
        entry, opened = entry[used], np.searchsorted(gates, opened[used])
        n_states = self.words.n_states
        entries = np.append(np.arange(n_states), np.unique(entry[entry >= n_states]))
        chain, followed = self.follows.pairs()
        stays = kept[chain] & np.isin(followed, entries)
        number = np.cumsum(kept) - 1
        targets = np.repeat(self.reached, np.diff(np.append(self.reached_start, self.n_chains)))[chains]
        reached, reached_start = np.unique(targets, return_index=True)
        return PhoneGraph(
            words=self.words,
            label=self.label[places],
            first=np.cumsum(length) - length,
            last=np.cumsum(length) - 1,
            repeated=np.flatnonzero(repeated[places]),
            steps=self.steps,
            step=self.step[chains],
            gate=gate,
            entry_source=self.entry_source[entries],
            opens=Lists.of(np.searchsorted(entries, entry), opened, len(entries)),
            follows=Lists.of(number[chain[stays]], np.searchsorted(entries, followed[stays]), len(chains)),
            reached=reached,
            reached_start=reached_start,
        )


def expand(words: WordGraph, pronounce: Pronunciations) -> PhoneGraph:
    """Spell a word graph in phones."""
    spelled = {word: [tuple(phones) for phones in pronounce(word)] for word in sorted(words.words)}
    leaving: dict[tuple[int, str], list[int]] = {}
    for arc in sorted(range(len(words.word)), key=words.target.__getitem__):
        leaving.setdefault((words.target[arc], words.word[arc]), []).append(words.source[arc])
    targets = [target for target, _ in leaving]
    steps = tuple(Step(word, tuple(sorted(sources))) for (_, word), sources in leaving.items())
    chains = [(step, phones) for step, made in enumerate(steps) for phones in spelled[made.word]]

    length = np.array([len(phones) for _, phones in chains], dtype=np.intp)
    first = np.cumsum(length) - length
    label = np.array([phone for _, phones in chains for phone in phones], dtype=np.intp)
    last = first + length - 1
    again = np.flatnonzero(label[1:] == label[:-1]) + 1
    target = np.array([targets[step] for step, _ in chains], dtype=np.intp)
    reached, reached_start = np.unique(target, return_index=True)

    last_labels: dict[int, set[int]] = {}
    for step, phones in chains:
        last_labels.setdefault(targets[step], set()).add(phones[-1])
    entry_of: dict[tuple[int, int], int] = {}
    gate_of: dict[tuple[tuple[int, ...], int], int] = {}
    gates: list[list[int]] = []
    for step, phones in chains:
        sources, opening = steps[step].sources, phones[0]
        if (sources, opening) not in gate_of:
            gate_of[sources, opening] = len(gates)
            gates.append(
                [
                    entry_of.setdefault((source, opening), words.n_states + len(entry_of))
                    if opening in last_labels.get(source, ())
                    else source
                    for source in sources
                ]
            )
    others: dict[int, list[tuple[int, int]]] = {}
    for (source, opening), entry in entry_of.items():
        others.setdefault(source, []).append((opening, entry))
    follows = [
        [into, *(entry for opening, entry in others.get(into, ()) if opening != phones[-1])]
        for into, (_, phones) in zip(target.tolist(), chains, strict=True)
    ]
    return PhoneGraph(
        words=words,
        label=label,
        first=first,
        last=last,
        repeated=np.setdiff1d(again, first),
        steps=steps,
        step=np.array([step for step, _ in chains], dtype=np.intp),
        gate=np.array([gate_of[steps[step].sources, phones[0]] for step, phones in chains], dtype=np.intp),
        entry_source=np.array([*range(words.n_states), *(source for source, _ in entry_of)], dtype=np.intp),
        opens=_turned(gates, words.n_states + len(entry_of)),
        follows=_lists(follows),
        reached=reached.astype(np.intp),
        reached_start=reached_start.astype(np.intp),
    )


def ranges(starts: Index, counts: Index) -> Index:
    """The numbers of several ranges, one after the other."""
    ends = np.cumsum(counts)
    return np.arange(ends[-1] if len(ends) else 0) + np.repeat(starts - ends + counts, counts)


def _lists(rows: Sequence[Sequence[int]]) -> Lists:
    """Lists as arrays."""
    ends = np.cumsum(np.array([len(row) for row in rows], dtype=np.intp))
    return Lists(
        np.array([item for row in rows for item in row], dtype=np.intp), np.append(0, ends).astype(np.intp)
    )


def _turned(rows: Sequence[Sequence[int]], n_items: int) -> Lists:
    """For each item the rows that it is in."""
    row, item = _lists(rows).pairs()
    return Lists.of(item, row, n_items)

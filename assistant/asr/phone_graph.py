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
    gate_entries: Index
    """Entries of each gate, one gate after the other."""
    gate_start: Index
    """Where each gate begins in `gate_entries`."""
    entry_source: Index
    """Junction of each entry, shape (entries,)."""
    reached: Index
    """Junctions that some chain ends in, ascending."""
    reached_start: Index
    """First chain that ends in each of them."""
    barred: Index
    """Chains that may be followed directly, of each entry after the first `n_states`; `n_chains`: none."""
    barred_start: Index
    """Where the list of each such entry begins in `barred`."""

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
        entries, gate_start = _parts(self.gate_entries, self.gate_start, gates)
        n_states = self.words.n_states
        special = np.unique(entries[entries >= n_states])
        barred, barred_start = _parts(self.barred, self.barred_start, special - n_states)
        # The last of each list is no chain and stays.
        stays = np.append(kept, True)[barred]
        number = np.append(np.cumsum(kept) - 1, len(chains))
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
            gate_entries=np.where(entries < n_states, entries, n_states + np.searchsorted(special, entries)),
            gate_start=gate_start,
            entry_source=np.append(np.arange(n_states), self.entry_source[special]),
            reached=reached,
            reached_start=reached_start,
            barred=number[barred[stays]],
            barred_start=(np.cumsum(stays) - stays)[barred_start] if len(barred) else barred_start,
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
    before = {
        state: np.arange(begin, end)
        for state, begin, end in zip(
            reached, reached_start, [*reached_start[1:], len(chains)], strict=bool(chains)
        )
    }
    barred = [
        np.append(before[source][label[last[before[source]]] != opening], len(chains))
        for source, opening in entry_of
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
        gate_entries=np.array([entry for gate in gates for entry in gate], dtype=np.intp),
        gate_start=_starts([len(gate) for gate in gates]),
        entry_source=np.array([*range(words.n_states), *(source for source, _ in entry_of)], dtype=np.intp),
        reached=reached.astype(np.intp),
        reached_start=reached_start.astype(np.intp),
        barred=np.concatenate(barred) if barred else np.zeros(0, dtype=np.intp),
        barred_start=_starts([len(part) for part in barred]),
    )


def ranges(starts: Index, counts: Index) -> Index:
    """The numbers of several ranges, one after the other."""
    ends = np.cumsum(counts)
    return np.arange(ends[-1] if len(ends) else 0) + np.repeat(starts - ends + counts, counts)


def _parts(lists: Index, starts: Index, wanted: Index) -> tuple[Index, Index]:
    """Some of several lists that stand one after the other, and where each begins."""
    counts = np.diff(np.append(starts, len(lists)))[wanted]
    return lists[ranges(starts[wanted], counts)], np.cumsum(counts) - counts


def _starts(sizes: Sequence[int]) -> Index:
    """Where each of several runs begins when they stand one after the other."""
    ends = np.cumsum(np.array(sizes, dtype=np.intp))
    return ends - np.array(sizes, dtype=np.intp)

"""The word graph of a grammar spelled in phones, as flat arrays that a decoder can sweep.

Every arc of the word graph becomes one chain of phones per pronunciation. The states of the word graph are
the junctions between chains. Within a chain the rules of CTC hold (Graves et al. 2006, "Connectionist
Temporal Classification"): a blank may come between any two phones and must come between two equal ones. In a
junction any number of blanks and word-boundary symbols may pass.
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
class PhoneGraph:
    """Chains of phones between junctions; chains are sorted by the junction they lead to, then by arc.

    An entry is a way into chains: the first `n_states` are the junctions themselves, the others are junctions
    seen by a chain whose first phone equals the last phone of a chain before it: from that one it can't be
    entered without a blank.
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
    chain_arc: Index
    """Arc of the word graph that each chain spells, shape (chains,)."""
    chain_entry: Index
    """Entry of each chain, shape (chains,)."""
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

    def chains_into(self, state: int) -> slice:
        """Chains that end in a junction."""
        place = int(np.searchsorted(self.reached, state))
        if place == len(self.reached) or self.reached[place] != state:
            return slice(0, 0)
        after = self.reached_start[place + 1] if place + 1 < len(self.reached) else self.n_chains
        return slice(int(self.reached_start[place]), int(after))

    def phones(self, chain: int) -> Index:
        """Symbols of a chain, in order."""
        return self.label[self.first[chain] : self.last[chain] + 1]


def expand(words: WordGraph, pronounce: Pronunciations) -> PhoneGraph:
    """Spell a word graph in phones."""
    spelled = {word: [tuple(phones) for phones in pronounce(word)] for word in sorted(words.words)}
    order = sorted(range(len(words.word)), key=lambda arc: (words.target[arc], arc))
    chains = [(arc, phones) for arc in order for phones in spelled[words.word[arc]]]

    length = np.array([len(phones) for _, phones in chains], dtype=np.intp)
    first = np.cumsum(length) - length
    label = np.array([phone for _, phones in chains for phone in phones], dtype=np.intp)
    last = first + length - 1
    again = np.flatnonzero(label[1:] == label[:-1]) + 1
    target = np.array([words.target[arc] for arc, _ in chains], dtype=np.intp)
    reached, reached_start = np.unique(target, return_index=True)

    last_labels: dict[int, set[int]] = {}
    for arc, phones in chains:
        last_labels.setdefault(words.target[arc], set()).add(phones[-1])
    entry_source = list(range(words.n_states))
    entry_of: dict[tuple[int, int], int] = {}
    chain_entry: list[int] = []
    barred: list[Index] = []
    for arc, phones in chains:
        source, opening = words.source[arc], phones[0]
        if opening not in last_labels.get(source, ()):
            chain_entry.append(source)
            continue
        if (source, opening) not in entry_of:
            entry_of[source, opening] = len(entry_source)
            entry_source.append(source)
            before = np.flatnonzero(target == source)
            allowed = before[label[last[before]] != opening]
            barred.append(np.append(allowed, len(chains)))
        chain_entry.append(entry_of[source, opening])
    sizes = np.array([len(part) for part in barred], dtype=np.intp)
    return PhoneGraph(
        words=words,
        label=label,
        first=first,
        last=last,
        repeated=np.setdiff1d(again, first),
        chain_arc=np.array([arc for arc, _ in chains], dtype=np.intp),
        chain_entry=np.array(chain_entry, dtype=np.intp),
        entry_source=np.array(entry_source, dtype=np.intp),
        reached=reached.astype(np.intp),
        reached_start=reached_start.astype(np.intp),
        barred=np.concatenate(barred) if barred else np.zeros(0, dtype=np.intp),
        barred_start=np.cumsum(sizes) - sizes,
    )

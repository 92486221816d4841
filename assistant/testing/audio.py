"""A scripted recogniser, and the check that every recogniser must pass.

For tests and for whoever adds an engine.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Generic

import numpy as np

from assistant.ports import (
    NOTHING_HEARD,
    SPEECH_RATE,
    Asking,
    Hypothesis,
    M,
    Recogniser,
    Recognition,
    Sound,
    Wanted,
    WordGraph,
    always,
)

SURE_MARGIN = 3.0
"""Margin from which on `heard` makes a recognition that is sure."""


def heard(
    text: str,
    meaning: M | None,
    *,
    cost: float = 0.1,
    margin: float = 20.0,
    accepted: bool = True,
    near: bool = False,
) -> Recognition[M]:
    """A recognition of this sentence alone; by default one that the recogniser is sure of.

    With a margin below `SURE_MARGIN` it is accepted but not sure.
    """
    best = Hypothesis(text, meaning, cost)
    taken = accepted and not near
    sure = (1.0 if margin >= SURE_MARGIN else 0.7) if taken else 0.5 if near else 0.0
    return Recognition(best, accepted=taken, margin=margin, near=near, sure=sure)


class ScriptedRecogniser(Generic[M]):
    """Recogniser that hears what its script says, one line an utterance, and nothing once the script is over.

    `meaning`: sentence -> what it means, for lines that are given as text. `asked` notes for every utterance
    what could be said besides commands.
    """

    name = "scripted"

    def __init__(self, script: Iterable[Recognition[M] | str], meaning: Callable[[str], M | None]) -> None:
        self._script = iter(
            [heard(line, meaning(line)) if isinstance(line, str) else line for line in script]
        )
        self.asked: list[Asking] = []

    def recognise(
        self,
        sound: Sound,
        *,
        asking: Asking = Asking.NOTHING,
        wanted: Wanted = always,  # noqa: ARG002
    ) -> Recognition[M]:
        """Next line of the script; nothing for a sound without samples."""
        self.asked.append(asking)
        return replace(next(self._script, NOTHING_HEARD) if len(sound.pcm) else NOTHING_HEARD, asking=asking)


def own_words(text: str, _asking: Asking) -> str:
    """Meaning of sentences that mean nothing else: their own words."""
    return text


def sentence_graph(sentences: Iterable[str]) -> WordGraph:
    """Word graph of a list of sentences: a tree whose branches join where the same words are left."""
    tree: dict[str, object] = {}
    for sentence in sentences:
        node = tree
        for word in sentence.split():
            node = node.setdefault(word, {})  # type: ignore[assignment]
        node[""] = {}
    states: dict[object, int] = {}
    arcs: list[tuple[int, int, str]] = []
    final: set[int] = set()

    def number(node: Mapping[str, object]) -> int:
        after = tuple(sorted((word, number(rest)) for word, rest in node.items() if word))  # type: ignore[arg-type]
        key = ("" in node, after)
        if key not in states:
            states[key] = len(states)
            arcs.extend((states[key], target, word) for word, target in after)
            if "" in node:
                final.add(states[key])
        return states[key]

    # The start is numbered last; swap it with 0, where a word graph has it.
    start = number(tree)
    swap = {start: 0, 0: start}
    arcs = [(swap.get(source, source), swap.get(target, target), word) for source, target, word in arcs]
    return WordGraph(
        n_states=len(states),
        source=tuple(source for source, _, _ in arcs),
        target=tuple(target for _, target, _ in arcs),
        word=tuple(word for _, _, word in arcs),
        final=frozenset(swap.get(state, state) for state in final),
    )


def check_recogniser(recogniser: Recogniser[M], sounds: Mapping[str, Sound]) -> None:
    """Raise AssertionError where a recogniser breaks the port's promises.

    `sounds`: sentence of its grammar -> sound of it that it must hear right.
    """
    assert recogniser.name, "a recogniser has a name"
    quiet = Sound(np.zeros(SPEECH_RATE // 2, dtype=np.int16))
    for sound in (quiet, Sound(np.zeros(0, dtype=np.int16))):
        for asking in Asking:
            found = recogniser.recognise(sound, asking=asking)
            assert not found.accepted, f"silence was taken for {found.text!r}"
            assert found.asking is asking, f"asked for {asking}, answered {found.asking}"
    for sentence, sound in sounds.items():
        before = sound.pcm.copy()
        found = recogniser.recognise(sound)
        assert found.text == sentence, f"{sentence!r} was heard as {found.text!r}"
        assert found.accepted, f"{sentence!r} was heard but not accepted: {found}"
        assert found.cost >= 0, f"cost {found.cost} is below 0"
        assert found.margin >= 0, f"margin {found.margin} is below 0"
        assert sentence not in [rival.text for rival in found.alternatives], (
            "the best sentence is its own rival"
        )
        meanings = [found.meaning, *(rival.meaning for rival in found.alternatives)]
        known = [meaning for meaning in meanings if meaning is not None]
        assert len(known) == len(set(known)), f"two hypotheses of {sentence!r} mean the same"
        assert recogniser.recognise(sound) == found, (
            f"{sentence!r} was recognised differently the second time"
        )
        assert np.array_equal(sound.pcm, before), "a recogniser must not write into the sound"

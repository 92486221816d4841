"""How long to wait after the last sound: less for a command that can't go on than for one that could.

Rule: after `closed_s` of quiet the sentence so far is recognised. If it is a whole command, heard with a
sufficient margin, that no word could follow, it is decided on then; if words could follow, after `open_s`;
anything else when the endpointer ends the utterance by itself. Where speech goes on, the early recognition is
thrown away.
"""

import math
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass
from functools import cache
from typing import Protocol

from assistant.batch.record.commands import Command, Incomplete, Together
from assistant.ports import Asking, Endpointer, Pcm, Recognition, Utterance, WordGraph

Recognise = Callable[[Utterance], "Future[Recognition[Command]]"]


class Parse(Protocol):
    """Sentence -> the command that it means while `asking`; None where it means none."""

    def __call__(self, text: str, *, asking: Asking) -> Command | None:
        """Command of a sentence."""


@dataclass(frozen=True, slots=True)
class Patience:
    """Quiet to wait for."""

    closed_s: float = 0.2
    """After a command that can't go on (s)."""
    open_s: float = 0.4
    """After one that could (s)."""


class SentenceEnds:
    """Whether words could follow a sentence that change its meaning: "five" could, "grams" could not.

    `layer`: the sentences that one layer of what may be said adds.
    """

    def __init__(self, layer: Callable[[Asking], WordGraph], parse: Parse) -> None:
        self._parse = parse
        self._layer: Callable[[Asking], _Words] = cache(lambda asking: _Words(layer(asking)))

    def can_go_on(self, text: str, meant: Command, asking: Asking) -> bool | None:
        """Whether another thing could be meant than `meant`, what the text means while `asking`.

        None where it is not a whole sentence. A second command behind the first leaves that as it is, so it
        is not waited for: every answer would come later.
        """
        ways = [(words, words.state(text)) for words in map(self._layer, asking.layers)]
        if not any(state in words.final for words, state in ways):
            return None
        return any(
            _first(self._parse(f"{text} {more}", asking=asking)) != meant
            for words, state in ways
            if state is not None
            for more in words.continuations(state)
        )


def _first(meant: Command | None) -> Command | None:
    """The first of what is meant in one breath."""
    return meant.commands[0] if isinstance(meant, Together) else meant


class _Words:
    """A word graph to walk along."""

    def __init__(self, graph: WordGraph) -> None:
        self.final = graph.final
        self._after: dict[int, dict[str, int]] = {}
        for source, target, word in zip(graph.source, graph.target, graph.word, strict=True):
            self._after.setdefault(source, {})[word] = target

    def state(self, text: str) -> int | None:
        """The state after a text; None where no sentence begins with it."""
        state: int | None = 0
        for word in text.split():
            state = None if state is None else self._after.get(state, {}).get(word)
        return state

    def continuations(self, state: int) -> Iterator[str]:
        """Words that can follow, as far as the next whole sentence; three words at most."""
        waiting = [(state, "")]
        for _ in range(3):
            longer = []
            for here, words in waiting:
                for word, target in self._after.get(here, {}).items():
                    more = f"{words} {word}".strip()
                    if target in self.final:
                        yield more
                    else:
                        longer.append((target, more))
            waiting = longer


@dataclass(frozen=True, slots=True)
class Spoken:
    """An utterance that is over."""

    utterance: Utterance
    recognition: "Future[Recognition[Command]]"
    """What is or will be recognised in it."""


class PatientListener:
    """Endpointer and recogniser together: returns utterances as soon as they may be decided on.

    `recognise` may work in another thread. `min_margin`: below it an early recognition is not trusted, the
    whole utterance is waited for.
    """

    def __init__(
        self,
        endpointer: Endpointer,
        recognise: Recognise,
        ends: SentenceEnds,
        patience: Patience,
        *,
        min_margin: float,
    ) -> None:
        self.endpointer = endpointer
        self._recognise = recognise
        self._ends = ends
        self._patience = patience
        self._min_margin = min_margin
        self._early: Spoken | None = None

    def feed(self, block: Pcm) -> list[Spoken]:
        """Take the next block; return what is over with it."""
        closed = self.endpointer.feed(block)
        if closed:
            return self._closed(closed)
        if self.endpointer.quiet_s < self._patience.closed_s:
            self._early = None
            return []
        pending = self.endpointer.pending(self._patience.closed_s)
        if pending is None:
            return []
        if self._early is None or self._early.utterance.end != pending.end:
            self._early = Spoken(pending, self._recognise(pending))
        early = self._early
        if early.recognition.done() and self.endpointer.quiet_s >= self._needed_s(early.recognition.result()):
            self.endpointer.cut()
            self._early = None
            return [early]
        return []

    def flush(self) -> list[Spoken]:
        """The stream is over."""
        return self._closed(self.endpointer.flush())

    def _closed(self, utterances: list[Utterance]) -> list[Spoken]:
        early, self._early = self._early, None
        return [
            early
            if early is not None and early.utterance.end == utterance.end
            else Spoken(utterance, self._recognise(utterance))
            for utterance in utterances
        ]

    def _needed_s(self, found: Recognition[Command]) -> float:
        """Quiet (s) after which this may be decided on; inf: only when the endpointer says so."""
        if not found.accepted or found.margin < self._min_margin:
            return math.inf
        command = found.meaning
        if command is None or isinstance(command, Incomplete):
            return math.inf
        open_ended = self._ends.can_go_on(found.text, command, found.asking)
        if open_ended is None:
            return math.inf
        return self._patience.open_s if open_ended else self._patience.closed_s

"""How long to wait after the last sound: less for a command that can't go on than for one that could.

Rule: after `closed_s` of quiet the sentence so far is recognised. If it is a whole command, heard with a
sufficient margin, that no word could follow, it is decided on then; if words could follow, after `open_s`;
anything else when the endpointer ends the utterance by itself: a lot too, which is said sign by sign. Where
speech goes on, the early recognition is thrown away, or left where it is still at work.
"""

import math
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Protocol

from assistant.batch.record.commands import Command, Incomplete, SetLot
from assistant.ports import Asking, Endpointer, Pcm, Recognition, Utterance

Recognise = Callable[[Utterance], "Future[Recognition[Command]]"]


class Parse(Protocol):
    """Sentence -> the command that it means while `asking`; None where it means none."""

    def __call__(self, text: str, *, asking: Asking) -> Command | None:
        """Command of a sentence."""


class Continuations(Protocol):
    """Words that can be said behind a sentence while `asking`; None where it is not a whole one."""

    def __call__(self, text: str, *, asking: Asking) -> Iterator[str] | None:
        """Words, as far as the next whole sentence."""


@dataclass(frozen=True, slots=True)
class Patience:
    """Quiet to wait for."""

    closed_s: float = 0.2
    """After a command that can't go on (s)."""
    open_s: float = 0.4
    """After one that could (s)."""


class SentenceEnds:
    """Whether words could follow a sentence that change its meaning: "five" could, "grams" could not."""

    def __init__(self, continuations: Continuations, parse: Parse) -> None:
        self._continuations = continuations
        self._parse = parse

    def can_go_on(self, text: str, meant: Command, asking: Asking) -> bool | None:
        """Whether another thing could be meant than `meant`, what the text means while `asking`.

        None where it is not a whole sentence. A second command behind the first leaves that as it is, so it
        is not waited for: every answer would come later.
        """
        following = self._continuations(text, asking=asking)
        if following is None:
            return None
        return any(self._parse(f"{text} {more}", asking=asking) != meant for more in following)


@dataclass(frozen=True, slots=True)
class Spoken:
    """An utterance that is over."""

    utterance: Utterance
    recognition: "Future[Recognition[Command]]"
    """What is or will be recognised in it."""


class PatientListener:
    """Endpointer and recogniser together: returns utterances as soon as they may be decided on.

    `recognise` may work in another thread. `act_above`: below it an early recognition is not trusted, the
    whole utterance is waited for.
    """

    def __init__(
        self,
        endpointer: Endpointer,
        recognise: Recognise,
        ends: SentenceEnds,
        patience: Patience,
        *,
        act_above: float,
    ) -> None:
        self.endpointer = endpointer
        self._recognise = recognise
        self._ends = ends
        self._patience = patience
        self._act_above = act_above
        self._early: Spoken | None = None

    def feed(self, block: Pcm) -> list[Spoken]:
        """Take the next block; return what is over with it."""
        closed = self.endpointer.feed(block)
        if closed:
            return self._closed(closed)
        if self.endpointer.quiet_s < self._patience.closed_s:
            self._overtaken()
            return []
        pending = self.endpointer.pending(self._patience.closed_s)
        if pending is None:
            return []
        if self._early is None or self._early.utterance.end != pending.end:
            self._overtaken()
            self._early = Spoken(pending, self._recognise(pending))
        early = self._early
        if early.recognition.done() and self.endpointer.quiet_s >= self._needed_s(early.recognition):
            self.endpointer.cut()
            self._early = None
            return [early]
        return []

    def flush(self) -> list[Spoken]:
        """The stream is over."""
        return self._closed(self.endpointer.flush())

    def _closed(self, utterances: list[Utterance]) -> list[Spoken]:
        early, self._early = self._early, None
        found: list[Spoken] = []
        for utterance in utterances:
            if early is not None and early.utterance.end == utterance.end:
                found.append(early)
                early = None
            else:
                found.append(Spoken(utterance, self._recognise(utterance)))
        if early is not None:
            early.recognition.cancel()
        return found

    def _overtaken(self) -> None:
        """Speech goes on: what was recognised early is of no use, and must not hold up what comes."""
        if self._early is not None:
            self._early.recognition.cancel()
            self._early = None

    def _needed_s(self, done: "Future[Recognition[Command]]") -> float:
        """Quiet (s) after which this may be decided on; inf: only when the endpointer says so.

        An early look that failed is not decided on: whoever gets the utterance at its end learns of it.
        """
        if done.cancelled() or done.exception() is not None:
            return math.inf
        found = done.result()
        if not found.accepted or found.sure < self._act_above:
            return math.inf
        command = found.meaning
        if command is None or isinstance(command, Incomplete):
            return math.inf
        open_ended = self._ends.can_go_on(found.text, command, found.asking)
        if open_ended is None:
            return math.inf
        if open_ended and isinstance(command, SetLot):
            # Who says numbers or letters one by one pauses for 0.4 s in 14 of 100 gaps, for 0.7 s in 3
            # (`python -m tests.bench.pauses`): half of a lot would be taken for the whole of another.
            return math.inf
        return self._patience.open_s if open_ended else self._patience.closed_s

"""Practice: a guided batch by voice, in a station of its own that writes nothing.

The batch is a real one: the same grammar, rules, engine and replies, with a state that begins empty and a
journal that keeps nothing. What is around it goes on: timers of the kitchen ring first and are silenced
first, and voice, listening and what is asked of the machine are the station's own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from assistant.batch.decide.slots import GIVEN, now_meant
from assistant.batch.record import commands as cmd
from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.events import Event
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.nlu.grammar import Grammar
from assistant.ports import Asking, Clock, Stamp
from assistant.station.station import Station, Turn

ASK_AGAIN_S = 20.0
"""A prompt that nobody follows is said again after this time (s)."""
GIVE_UP_S = 60.0
"""A practice in which nothing is said for this long (s) is over."""
MOST_MISSES = 3
"""After so many a prompt is left, and the station does itself what it asked for."""
ENOUGH = 0.8
"""With a smaller share heard at once the cook is told to come closer."""

Heard = Literal["prompt", "other", "answer", "question"]
"""What the cook said in a practice: what was asked for, something else, an answer, or a question."""


@dataclass(frozen=True, slots=True)
class Practised:
    """A practice that goes on, as others may see it."""

    prompt: str
    """What the cook is to say now; empty: it has to ring first."""
    state: State | None = None
    """Of the batch that is practised; None: not known here."""


class NoJournal:
    """A journal that keeps nothing, for what must never be written."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._sequence = 0

    def append(self, events: Sequence[Event]) -> Sequence[Stamp]:
        """Stamps, as if it had kept them."""
        clock, first = self._clock, self._sequence + 1
        self._sequence += len(events)
        moment = (clock.wall(), clock.monotonic(), clock.boot_id(), clock.wall_trusted())
        return tuple(Stamp(first + place, *moment) for place in range(len(events)))

    def read(self) -> Iterator[tuple[Stamp, Event]]:
        """Nothing."""
        return iter(())

    def close(self) -> None:
        """There is nothing to let go."""


@dataclass(frozen=True, slots=True)
class Prompt:
    """A sentence that the cook is asked to say."""

    text: str
    command: cmd.Command
    """What it means."""


def prompts_of(sentences: Sequence[str], grammar: Grammar) -> tuple[Prompt, ...]:
    """The sentences that are whole commands of this grammar."""
    meant = ((text, grammar.parse(text)) for text in sentences)
    return tuple(
        Prompt(text, command)
        for text, command in meant
        if command is not None and not isinstance(command, cmd.Incomplete)
    )


class Practice:
    """One practice. `sandbox`: the station that its batch is made in; `now`: station time (s)."""

    def __init__(self, sandbox: Station, prompts: Sequence[Prompt], now: float) -> None:
        self.sandbox = sandbox
        self._left = list(prompts)
        self._since = now
        self._asked_again = False
        self._misses = 0
        self._clean = True
        self._voice = False
        self._done = 0
        self._at_once = 0
        self.over = False

    @property
    def asking(self) -> Asking:
        """What may be said besides commands; "cancel" always."""
        inner = self.sandbox.asking
        return Asking.ANSWER if inner is Asking.NOTHING else inner

    @property
    def next_due(self) -> float:
        """Station time (s) at which something is to be said."""
        inner = self.sandbox.next_due
        if inner is not None and self._waits:
            return inner
        own = self._since + (GIVE_UP_S if self._asked_again else ASK_AGAIN_S)
        return own if inner is None else min(own, inner)

    @property
    def prompt(self) -> Prompt | None:
        """What the cook is to say now; None after the last."""
        return self._left[0] if self._left else None

    @property
    def practised(self) -> Practised:
        """How it stands now."""
        prompt = None if self._waits else self.prompt
        return Practised("" if prompt is None else prompt.text, self.sandbox.state)

    @property
    def _waits(self) -> bool:
        """Whether the next prompt can only be said once something rings."""
        state = self.sandbox.state
        return self.prompt is not None and isinstance(self.prompt.command, cmd.GotIt) and not state.ringing

    def meant(self, command: cmd.Command, now: float, rules: BatchRules) -> Heard:
        """What a command is here. "Lot nine" behind "lot twelve" is a correction that may be asked for."""
        if self.sandbox.state.question is not None and (
            isinstance(command, cmd.Answer) or type(command) in GIVEN
        ):
            return "answer"
        if self.prompt is not None and not self._waits:
            meant = now_meant(self.sandbox.state, command, now, rules)
            if self.prompt.command in (command, meant):
                return "prompt"
        return "question" if isinstance(command, cmd.Ask) else "other"

    def touch(self, now: float) -> None:
        """Something was said in the kitchen: the cook's time to answer begins again."""
        self._since = now

    def followed(self, kind: Heard, turn: Turn, *, unsure: bool, voice: bool) -> list[Announcement]:
        """What the guide says behind the sandbox's own replies to what was heard."""
        self._voice = self._voice or voice
        self._asked_again = False
        if kind == "other":
            return self._other(turn.said or "")
        if kind == "question":
            return [] if self.sandbox.state.question is not None else self.ask_for()
        self._clean = self._clean and not unsure
        if self.sandbox.state.question is not None:
            # One that the ear gave no reason for, as past high, says nothing of how the cook was heard.
            return []
        if isinstance(turn.command, cmd.Answer) and not turn.command.yes:
            self._clean = False
            return self.ask_for(again=True)
        return self._advance()

    def missed(self) -> list[Announcement]:
        """Somebody spoke, and nothing was understood."""
        self._asked_again = False
        if self._waits:
            return [say("practice_wait")]
        return self._miss() or self.ask_for(again=True)

    def _other(self, said: str) -> list[Announcement]:
        """Something was understood that was not asked for: it is not done."""
        if self._waits or self.prompt is None:
            return [say("practice_wait")]
        return self._miss() or [say("practice_other", "question", heard=said, said=self.prompt.text)]

    def _miss(self) -> list[Announcement]:
        """Count a miss; after the last one that is borne, go on without the cook."""
        self._misses += 1
        self._clean = False
        if self._misses < MOST_MISSES or self.prompt is None:
            return []
        self.sandbox.press(self.prompt.command)
        if self.sandbox.state.question is not None:
            self.sandbox.press(cmd.Answer(yes=True))
        return [say("practice_passed"), *self._advance()]

    def _advance(self) -> list[Announcement]:
        """Count the prompt and ask for the next, or say how it went."""
        self._done += 1
        self._at_once += self._clean
        self._misses, self._clean = 0, True
        del self._left[0]
        while self._waits and not self.sandbox.state.timers:
            del self._left[0]
        return self.ask_for() if self._left else self.end()

    def ask_for(self, *, again: bool = False) -> list[Announcement]:
        """Say what the cook is to say, or that it comes once something rings."""
        if self._waits or self.prompt is None:
            return [say("practice_wait")]
        return [say("practice_again" if again else "practice_say", "question", said=self.prompt.text)]

    def due(self, now: float) -> tuple[Turn, list[Announcement]]:
        """Say what is due by `now` (s): what the sandbox calls, the prompt once more, or that it is over."""
        inner, nothing = self.sandbox.next_due, Turn(now, None, None, ())
        if inner is not None and inner <= now:
            asked, waited = self.sandbox.state.question is not None, self._waits
            turn = self.sandbox.due() or nothing
            lapsed = asked and self.sandbox.state.question is None
            if not lapsed and waited == self._waits:
                return turn, []
            self._since = now
            return turn, self.ask_for(again=lapsed)
        if self._asked_again:
            return nothing, self.end()
        self._asked_again, self._clean = True, False
        return nothing, self.ask_for(again=True)

    def end(self) -> list[Announcement]:
        """The practice is over: how many prompts were heard at once, of those that were said."""
        self.over = True
        if not self._done:
            return [say("practice_left")]
        few = self._voice and self._at_once < ENOUGH * self._done
        return [say("practice_over_few" if few else "practice_over", right=self._at_once, prompts=self._done)]

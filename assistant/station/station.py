"""State, journal and wording together: decides, writes the journal, and only then speaks.

Order of a turn: decide (pure) -> append to the journal -> new state -> return the replies. Where the journal
holds what it can't write, the cook hears that first (`not_written`); where it takes nothing at all, nothing
has happened, and the cook hears that.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from assistant.batch.decide.answers import wanted
from assistant.batch.decide.decide import ClockSet, Due, Printed, Request, Said, Started, decide, next_due
from assistant.batch.decide.slots import now_meant, open_slot
from assistant.batch.record import commands as cmd
from assistant.batch.record.announcements import Announcement, Tone, say
from assistant.batch.record.clocks.clock_events import TimeTold
from assistant.batch.record.clocks.time_off import KnownTime
from assistant.batch.record.events import Event, QuestionAsked, Source
from assistant.batch.record.printing.print_kinds import PrintResult
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.shift_commands import Listening
from assistant.batch.record.state import State
from assistant.dough.amounts import Amount
from assistant.errors import JournalError
from assistant.nlg.brevity import brief
from assistant.nlg.replies import Replies
from assistant.nlu.grammar import Grammar, Mended, may_be_said
from assistant.nlu.likelihood import surprise
from assistant.nlu.rescoring import rescored, same_again_instead
from assistant.ports import Asking, Clock, Journal, Recognition, Stamp
from assistant.station.not_written import Held, NotWritten

RESUME_SLACK_S = 1.0
"""Two trusted wall clocks may differ by this much though the station was not off longer (s)."""

LOOK_AT_CLOCK_S = 10.0
"""How often it is looked whether the clock is set, while a time off is not known (s)."""

ASKED_AGAIN_S = 60.0
"""A question that is asked again within this time (s) is answered further, as help is."""

WRITE_AGAIN_S = 15.0
"""After a journal took nothing at all, nothing is done by itself for this long (s)."""


@dataclass(frozen=True, slots=True)
class SpokenReply:
    """One sentence to say."""

    key: str
    """Of its announcement."""
    text: str
    tone: Tone | None = None
    """The tone before it; None: none."""


@dataclass(frozen=True, slots=True)
class Turn:
    """What one request led to."""

    at: float
    """Station time (s)."""
    said: str | None
    """The sentence; None where nothing was said."""
    command: cmd.Command | None
    """What it means; None for talk, and for what comes by itself."""
    replies: tuple[SpokenReply, ...]


class Scale(Protocol):
    """The jug scale, as the station asks it."""

    @property
    def asking(self) -> Asking:
        """What it waits for, in addition to commands."""

    def answer(self, command: cmd.Command, state: State, *, unsure: bool) -> Announcement | None:
        """What it says to a command; None where the command is not one of its own."""


class Station:
    """State, journal and wording together; belongs to one thread, its `state` may be read by all.

    `known`: what the kitchen knows beyond the batch. `plan`: puts in the day's plan as it is now, at every
    decision, for another process may have written it; None: that of `known`. `written` gets events once they
    are on disk. `held`: the journal again, where it holds what it can't write; None where it never does.
    `tell` gets a wall time (s since 1970) that a cook told: the clock goes by it until something better sets
    it. `scale`: None without a jug scale. `attention_word`: whether a spoken command needs one.
    """

    def __init__(
        self,
        journal: Journal[Event],
        clock: Clock,
        rules: BatchRules,
        grammar: Grammar,
        replies: Replies,
        state: State | None = None,
        *,
        known: Known = NOTHING,
        plan: Callable[[Known], Known] | None = None,
        written: Callable[[Sequence[Event]], None] = lambda _: None,
        held: Held | None = None,
        tell: Callable[[float], None] = lambda _: None,
        scale: Scale | None = None,
        attention_word: bool = False,
    ) -> None:
        self._journal = journal
        self._not_written = NotWritten(held)
        self._tell = tell
        self._clock = clock
        self._rules = rules
        self._grammar = grammar
        self._replies = replies
        self._known = known
        self._plan = plan
        self._written = written
        self._last_said: tuple[Announcement, ...] = ()
        self._scale = scale
        self._attention_word = attention_word
        self._write_again_at = self._look_at = float("-inf")
        self._said_again_until: float | None = None
        self._asked: tuple[cmd.Command | None, int, float] = (None, 0, 0.0)
        self.state = state or State()

    @property
    def now(self) -> float:
        """Station time (s)."""
        return self._clock.monotonic()

    @property
    def asking(self) -> Asking:
        """What a microphone may hear besides commands: yes, no, moves of a walk-through, the open value.

        With an attention word a read-back opens nothing: for as long as anything is open no sentence needs
        the word, and the room would be listened to after every entry.
        """
        corrects_alone = self.state.question is None and not self._scale_asks
        if self._attention_word and corrects_alone:
            return Asking.NOTHING if self.state.walk is None else Asking.ANSWER
        return self._open

    @property
    def _open(self) -> Asking:
        """What may be typed besides commands."""
        scale = Asking.NOTHING if self._scale is None else self._scale.asking
        return open_slot(self.state, self.now, self._rules) if scale is Asking.NOTHING else scale

    @property
    def _scale_asks(self) -> bool:
        return self._scale is not None and self._scale.asking is not Asking.NOTHING

    @property
    def next_due(self) -> float | None:
        """Station time (s) of the next thing that comes by itself; None where nothing does.

        After the journal took nothing it is not before the next try.
        """
        due = next_due(self.state)
        again = self._not_written.next_due(asking=self.state.question is not None)
        look = self._look_at if self.state.time_off is not None and self.state.question is None else None
        moments = [at for at in (due, again, look) if at is not None]
        return max(min(moments), self._write_again_at) if moments else None

    @property
    def failing(self) -> bool:
        """Whether what is decided is in memory alone, for the journal's storage fails."""
        return self._not_written.failing

    def start(self, last: Stamp | None) -> Turn:
        """The station came up after what `last` was written."""
        same_boot = last is not None and last.boot == self._clock.boot_id()
        if last is not None and same_boot and last.wall_trusted and self.state.clock_told:
            self._tell(last.wall + self.now - last.monotonic)
        shift, certain = shift_since(last, self._clock)
        return self._turn(Started(shift, certain, known_before(last, self._clock)))

    def due(self) -> Turn | None:
        """Do what is due by now; None where that was nothing but to try the journal again."""
        due = next_due(self.state)
        turn = self._turn(Due()) if due is not None and due <= self.now else self._look_at_clock()
        self._written(self._not_written.try_again(self.now))
        if self.state.question is not None:
            return turn
        said = [*self._not_written.warning(self.now), *self._not_written.all_clear()]
        if not said:
            return turn
        turn = turn or Turn(self.now, None, None, ())
        return replace(turn, replies=(*turn.replies, *map(self._reply, said)))

    def _look_at_clock(self) -> Turn | None:
        """Reckon with the time off, once the clock can tell it; None where it can't yet."""
        time_off, now = self.state.time_off, self.now
        if time_off is None or self.state.question is not None or now < self._look_at:
            return None
        self._look_at = now + LOOK_AT_CLOCK_S
        if not self._clock.wall_trusted():
            return None
        off = time_off.length_s(now, self._clock.wall())
        # One that says that the station came up before it went off was set wrongly then or now.
        return self._turn(ClockSet(max(0.0, off))) if off >= -RESUME_SLACK_S else None

    def hear(self, text: str, *, source: Source = "voice", unsure: bool = False) -> Turn:
        """A sentence came in as text: parse it and act on it.

        Talk leads to a turn without command and replies.
        """
        typed = source == "keyboard"
        command = self._grammar.parse(text, asking=self._open if typed else self.asking)
        if command is None and typed:
            return self._mistyped(text)
        return self._act_on(text, command, source, unsure=unsure)

    def _mistyped(self, text: str) -> Turn:
        """A line that means nothing: ask whether its nearest sentence is meant, or say what can be said."""
        near = self._grammar.mended(text, asking=self._open)
        if near is not None and (turn := self._asked_about_typed(near)) is not None:
            return replace(turn, said=text, command=None)
        if self.state.question is not None:
            return Turn(self.now, text, None, self._worded(wanted(self.state, self.now, self._rules)))
        example = self._grammar.suggest(text)
        reply = say("not_understood") if example is None else say("not_understood_near", near=example)
        return Turn(self.now, text, None, (self._reply(reply),))

    def not_understood(self, *, addressed: bool) -> Turn | None:
        """Somebody spoke and no sentence fits: say so where the station was spoken to, else nothing.

        An open question is said again once. `addressed`: whether a foot asked the station to listen.
        """
        if not self.state.listening:
            return None
        question = self.state.question
        if question is not None and self._said_again_until != question.expires:
            self._said_again_until = question.expires
            return Turn(self.now, None, None, self._worded(wanted(self.state, self.now, self._rules)))
        return self.announce("say_again", "question") if addressed and question is None else None

    def recognised(self, found: Recognition[cmd.Command], *, unsure: bool, twin_near: bool = False) -> Turn:
        """A sentence was recognised: act on its meaning, as `hear` does."""
        command = self._now_meant(found.meaning)
        return self._act_on(found.text, command, "voice", unsure=unsure, twin_near=twin_near)

    def _now_meant(self, command: cmd.Command | None) -> cmd.Command | None:
        """The command, where it may be said now; what was asked for when it was said may be over."""
        return command if command is not None and may_be_said(command, self.asking) else None

    def _act_on(
        self, text: str, command: cmd.Command | None, source: Source, *, unsure: bool, twin_near: bool = False
    ) -> Turn:
        if command is None:
            return Turn(self.now, text, None, ())
        if self._scale is not None and self.state.listening:
            answer = self._scale.answer(command, self.state, unsure=unsure)
            if answer is not None:
                return Turn(self.now, text, command, self._worded([answer]))
        return self._turn(Said(command, source, text, unsure, twin_near), text, command)

    def doubt(self, found: Recognition[cmd.Command]) -> Turn | None:
        """A sentence fitted badly, though no other came near: ask about it where it would change something.

        None where it is left alone: it changes nothing, cannot be meant now, or another question is open.
        What is asked of the machine is answered all the same.
        """
        meant = self._now_meant(found.meaning)
        command = meant if self.state.question is None or isinstance(meant, cmd.MachineQuestion) else None
        if command is None or isinstance(command, cmd.Incomplete):
            return None
        return self._asked_about(found.text, command, "voice", guessed=found.guessed)

    def _asked_about(
        self, text: str, command: cmd.Command, source: Source, *, guessed: bool = False
    ) -> Turn | None:
        """Ask whether this was said, or answer what is always answered; None where nothing would be asked."""
        request = Said(command, source, text, unsure=True, guessed=guessed)
        decision = decide(self.state, request, self.now, self._rules, self._known_now())
        asked = any(isinstance(event, QuestionAsked) for event in decision.events)
        if not asked and not isinstance(command, cmd.MachineQuestion):
            return None
        return self._turn(request, text, command)

    def _asked_about_typed(self, near: Mended) -> Turn | None:
        """Ask whether this was meant by what was typed; what is only like it is named, number and all."""
        # No question to listen again or to leave what was asked, nor before what was said last.
        sentence, command = near.sentence, near.command
        if near.changes in ("few", "many"):
            turn = self._asked_about(sentence, command, "keyboard")
            if turn is not None or near.changes == "many":
                return turn
        elif command in (cmd.SayAgain(), Listening(on=True), cmd.Answer(yes=False)):
            return self._turn(Said(command, "keyboard", sentence), sentence, command)
        elif self.state.question is not None:
            return None
        return self._asked_about(sentence, command, "keyboard", guessed=True)

    def rescore(self, found: Recognition[cmd.Command]) -> Recognition[cmd.Command]:
        """What was heard, rescored by what can be meant at this moment of the batch.

        What is asked of the machine may be meant at any moment; what was guessed stays a guess.
        """
        if found.guessed or isinstance(found.meaning, cmd.MachineQuestion):
            return found
        state, now, rules = self.state, self.now, self._rules

        def unexpected(command: cmd.Command | None) -> float:
            return surprise(state, now_meant(state, self._now_meant(command), now, rules), rules)

        found = rescored(found, unexpected)
        can_be_repeated = state.batch is None and state.made_of is not None
        return same_again_instead(found) if can_be_repeated else found

    def pour(self, grams: float, *, sure: bool) -> Turn | None:
        """The jug scale saw a pour (g); None where no batch is open: then it is left alone."""
        if self.state.batch is None:
            return None
        command = cmd.AddWater(Amount(float(round(grams)), exact=True))
        return self._turn(Said(command, "jug", unsure=not sure), None, command)

    def printed(self, job: int, result: PrintResult) -> Turn:
        """A job of printing ended."""
        return self._turn(Printed(job, result))

    def press(self, command: cmd.Command, source: Source = "voice") -> Turn:
        """A hand or a foot asks for this without a word: act on it."""
        return self._turn(Said(command, source), None, command)

    def announce(self, key: str, tone: Tone | None = None, **values: Any) -> Turn:
        """Say something about the station itself; it is not an event of the batch."""
        return Turn(self.now, None, None, (self._reply(say(key, tone, **values)),))

    def _turn(self, request: Request, said: str | None = None, command: cmd.Command | None = None) -> Turn:
        now = self.now
        if isinstance(request, Said):
            request = replace(request, again=self._asked_again(request.command, now))
        decision = decide(self.state, request, now, self._rules, self._known_now())
        try:
            if decision.events:
                self._journal.append(decision.events)
                self._write_again_at = float("-inf")
        except JournalError:
            self._write_again_at = now + WRITE_AGAIN_S
            return Turn(now, said, command, (self._reply(say("cannot_write", "ring_firm")),))
        self.state = decision.state
        for event in decision.events:
            if isinstance(event, TimeTold):
                self._tell(event.wall)
        if not self.failing:
            self._written(decision.events)
        warning = self._not_written.warning(now) if decision.events or isinstance(request, Started) else []
        worded = self._worded(decision.announcements)
        # The warning is a turn of its own in front of this one, which loses nothing by it.
        return Turn(now, said, command, (*map(self._reply, warning), *worded))

    def _known_now(self) -> Known:
        """What the kitchen knows at this decision; the plan is the same all through it."""
        return self._known if self._plan is None else self._plan(self._known)

    def _asked_again(self, command: cmd.Command, now: float) -> int:
        """How often this question was asked before, within a minute and with nothing else between."""
        asked, times, at = self._asked
        same = isinstance(command, cmd.Ask) and asked == command and now - at <= ASKED_AGAIN_S
        self._asked = (command, times + 1 if same else 0, now)
        return self._asked[1]

    def _worded(self, announcements: Sequence[Announcement]) -> tuple[SpokenReply, ...]:
        """The replies of a turn, as brief as one must be."""
        if any(announcement.key == "say_again" for announcement in announcements):
            announcements = self._last_said or announcements
        elif announcements:
            self._last_said = tuple(announcements)
        said = brief(announcements, self._replies.render)
        return tuple(SpokenReply(one.key, text, one.tone) for one, text in said)

    def _reply(self, announcement: Announcement) -> SpokenReply:
        return SpokenReply(announcement.key, self._replies.render(announcement), announcement.tone)


def known_before(last: Stamp | None, clock: Clock) -> KnownTime | None:
    """What the clock may tell the time off by once it is set: the last known wall time, by its station time.

    None where the clock of either side was wrong, or that of the last boot was never set.
    """
    if last is None or last.boot == clock.boot_id() or not last.wall_trusted or clock.wall_trusted():
        return None
    return KnownTime(clock.monotonic(), last.wall)


def shift_since(last: Stamp | None, clock: Clock) -> tuple[float, bool]:
    """How far station time moved since the journal's last line (s), and whether that is certain.

    Within one boot the monotonic clock goes on. After another boot the wall clock shows how long the station
    was off, if it was trusted before and is now; else the time off counts as zero and is called uncertain.
    """
    if last is None or last.boot == clock.boot_id():
        return 0.0, True
    now = clock.monotonic()
    off = clock.wall() - last.wall
    if last.wall_trusted and clock.wall_trusted() and off >= -RESUME_SLACK_S:
        return now - max(0.0, off) - last.monotonic, True
    return now - last.monotonic, False

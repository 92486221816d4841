"""A station that can be practised with: what is said in a practice goes to its sandbox."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from assistant.batch.decide.decide import Request
from assistant.batch.record import commands as cmd
from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.events import Event, Source
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import State
from assistant.nlg.replies import Replies
from assistant.nlu.grammar import Grammar
from assistant.ports import Asking, Clock, Journal, Recognition
from assistant.station.not_written import Held
from assistant.station.practice import Heard, NoJournal, Practice, Practised, prompts_of
from assistant.station.station import Scale, Station, Turn

_ITS_OWN = (cmd.MachineQuestion, cmd.Loudness, cmd.Pace, cmd.Listening)
"""Commands that mean the station itself, whatever is practised."""


class PracticeStation(Station):
    """A station whose "practice" begins a `Practice`; `prompts`: sentences that the cook is asked to say."""

    def __init__(
        self,
        journal: Journal[Event],
        clock: Clock,
        rules: BatchRules,
        grammar: Grammar,
        replies: Replies,
        state: State | None = None,
        *,
        prompts: Sequence[str],
        known: Known = NOTHING,
        plan: Callable[[Known], Known] | None = None,
        written: Callable[[Sequence[Event]], None] = lambda _: None,
        held: Held | None = None,
        tell: Callable[[float], None] = lambda _: None,
        scale: Scale | None = None,
        attention_word: bool = False,
    ) -> None:
        super().__init__(
            journal,
            clock,
            rules,
            grammar,
            replies,
            state,
            known=known,
            plan=plan,
            written=written,
            held=held,
            tell=tell,
            scale=scale,
            attention_word=attention_word,
        )
        self._prompts = prompts_of(prompts, grammar)
        self._practice: Practice | None = None
        self._sandbox = partial(Station, NoJournal(clock), clock, rules, grammar, replies)

    @property
    def practising(self) -> bool:
        """Whether a practice goes on."""
        return self._practice is not None

    @property
    def practised(self) -> Practised | None:
        """The practice that goes on."""
        practice = self._practice
        return None if practice is None else practice.practised

    @property
    def asking(self) -> Asking:
        """What may be said besides commands."""
        practice = self._practice
        return super().asking if practice is None or self.state.question is not None else practice.asking

    @property
    def next_due(self) -> float | None:
        """Station time (s) of the next thing that comes by itself; None where nothing does."""
        own, practice = super().next_due, self._practice
        if practice is None:
            return own
        return practice.next_due if own is None else min(own, practice.next_due)

    def due(self) -> Turn | None:
        """Do what is due by now; what is due in the kitchen before what is due in a practice."""
        own, practice = super().next_due, self._practice
        if practice is None:
            return super().due()
        if own is not None and own <= self.now:
            practice.touch(self.now)
            return super().due()
        return self._guided(practice, *practice.due(self.now))

    def hear(self, text: str, *, source: Source = "voice", unsure: bool = False) -> Turn:
        """A sentence came in as text."""
        practice = self._practice
        if practice is None:
            return super().hear(text, source=source, unsure=unsure)
        command = self._grammar.parse(text, asking=self.asking)
        if command is None:
            nothing = Turn(self.now, text, None, ())
            return self._missed(practice, nothing) if source == "keyboard" else nothing
        own = self._own_turn(practice, text, command, source, unsure=unsure)
        if own is not None:
            return own
        kind = practice.meant(command, self.now, self._rules)
        turn = (
            Turn(self.now, text, command, ())
            if kind == "other"
            else practice.sandbox.hear(text, source=source, unsure=unsure)
        )
        return self._followed(practice, kind, turn, unsure=unsure, voice=source == "voice")

    def recognised(self, found: Recognition[cmd.Command], *, unsure: bool, twin_near: bool = False) -> Turn:
        """A sentence was recognised."""
        practice = self._practice
        command = self._now_meant(found.meaning)
        if practice is None or command is None:
            return super().recognised(found, unsure=unsure, twin_near=twin_near)
        own = self._own_turn(practice, found.text, command, "voice", unsure=unsure)
        if own is not None:
            return own
        kind = practice.meant(command, self.now, self._rules)
        turn = (
            Turn(self.now, found.text, command, ())
            if kind == "other"
            else practice.sandbox.recognised(found, unsure=unsure, twin_near=twin_near)
        )
        return self._followed(practice, kind, turn, unsure=unsure, voice=True)

    def doubt(self, found: Recognition[cmd.Command]) -> Turn | None:
        """A sentence fitted badly: ask about it, in a practice where it is the one that was asked for."""
        practice = self._practice
        command = self._now_meant(found.meaning)
        if practice is None or isinstance(command, _ITS_OWN):
            return super().doubt(found)
        if command is None or practice.meant(command, self.now, self._rules) != "prompt":
            return None
        turn = practice.sandbox.doubt(found)
        return None if turn is None else self._followed(practice, "prompt", turn, unsure=True, voice=True)

    def not_understood(self, *, addressed: bool) -> Turn | None:
        """Somebody spoke and no sentence fits: in a practice it is said again what to say."""
        practice = self._practice
        if practice is None or self.state.question is not None:
            return super().not_understood(addressed=addressed)
        return self._missed(practice, Turn(self.now, None, None, ()))

    def rescore(self, found: Recognition[cmd.Command]) -> Recognition[cmd.Command]:
        """What was heard, rescored by what can be meant at this moment of the batch, or of the practice."""
        practice = self._practice
        return super().rescore(found) if practice is None else practice.sandbox.rescore(found)

    def press(self, command: cmd.Command, source: Source = "voice") -> Turn:
        """A hand or a foot asks for this without a word."""
        practice = self._practice
        if practice is None:
            return super().press(command, source)
        own = self._own_turn(practice, None, command, source, unsure=False)
        if own is not None:
            return own
        if practice.meant(command, self.now, self._rules) != "prompt":
            return super().press(command, source)
        turn = practice.sandbox.press(command, source)
        return self._followed(practice, "prompt", turn, unsure=False, voice=False)

    def _own_turn(
        self, practice: Practice, text: str | None, command: cmd.Command, source: Source, *, unsure: bool
    ) -> Turn | None:
        """What is the station's own, or moves the practice as a whole; None where it is to be practised."""
        nothing = Turn(self.now, text, command, ())
        match command:
            case cmd.Practice(on=False) | cmd.WalkMove("leave") | cmd.Cancel():
                return self._guided(practice, nothing, practice.end())
            case cmd.Practice() | cmd.SayAgain():
                return self._guided(practice, nothing, practice.ask_for())
            case cmd.GotIt():
                own = bool(self.state.ringing)
            case cmd.Answer():
                own = self.state.question is not None
            case cmd.Ask("time"):
                own = bool(self.state.timers)
            case _:
                own = isinstance(command, _ITS_OWN)
        if not own:
            return None
        practice.touch(self.now)
        turn = super()._act_on(text or "", command, source, unsure=unsure)
        if not self.state.listening:
            self._practice = None
        return replace(turn, said=text)

    def _missed(self, practice: Practice, turn: Turn) -> Turn:
        practice.touch(self.now)
        return self._guided(practice, turn, practice.missed())

    def _followed(self, practice: Practice, kind: Heard, turn: Turn, *, unsure: bool, voice: bool) -> Turn:
        practice.touch(self.now)
        return self._guided(practice, turn, practice.followed(kind, turn, unsure=unsure, voice=voice))

    def _guided(self, practice: Practice, turn: Turn, said: Sequence[Announcement]) -> Turn:
        """A turn of the sandbox with what the guide says behind its first reply."""
        if practice.over:
            self._practice = None
        if not said:
            return turn
        return replace(turn, replies=(*turn.replies[:1], *self._worded(said)))

    def _turn(self, request: Request, said: str | None = None, command: cmd.Command | None = None) -> Turn:
        turn = super()._turn(request, said, command)
        if all(reply.key != "practice_begun" for reply in turn.replies):
            return turn
        if self._scale is not None and self._scale.asking is not Asking.NOTHING:
            return replace(turn, replies=self._worded([say("scale_calibrating")]))
        if not self._prompts:
            return replace(turn, replies=self._worded([say("practice_none")]))
        self._practice = Practice(self._sandbox(), self._prompts, self.now)
        return replace(turn, replies=(*turn.replies, *self._worded(self._practice.ask_for())))

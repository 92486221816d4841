"""A station to test: the shipped grammar and wording, a journal in memory, a clock that moves when told."""

from dataclasses import dataclass, field
from functools import cache
from queue import Queue

from assistant.batch.record.commands import Command
from assistant.batch.record.rules import BatchRules
from assistant.clock import ScriptedClock
from assistant.config.resources import grammar_folder
from assistant.nlg.replies import Replies
from assistant.nlg.speech import Speech
from assistant.nlu import Grammar, load_grammar
from assistant.ports import Asking, Recognition
from assistant.station.loop import Loop
from assistant.station.messages import Message
from assistant.station.station import Scale, Station, Turn
from assistant.testing.audio import heard
from assistant.testing.journal import MemoryJournal


@cache
def grammar() -> Grammar:
    """The shipped grammar, read once."""
    return load_grammar(grammar_folder() / "commands.jsgf")


@cache
def replies() -> Replies:
    """The shipped wording, read once."""
    return Replies.load(grammar_folder() / "replies.toml", speech=Speech())


def meaning(text: str) -> Command | None:
    """What a sentence means by the shipped grammar, whatever is asked."""
    return grammar().parse(text, asking=Asking.AMOUNT)


def understood(
    text: str, *, margin: float = 20.0, accepted: bool = True, near: bool = False
) -> Recognition[Command]:
    """What a recogniser of the shipped grammar makes of a sentence."""
    return heard(text, meaning(text), margin=margin, accepted=accepted, near=near)


@dataclass
class Stand:
    """Station and what it stands on."""

    clock: ScriptedClock = field(default_factory=ScriptedClock)
    scale: Scale | None = None
    attention_word: bool = False
    turns: list[Turn] = field(default_factory=list)
    """What the loop did, by a message or by itself."""

    def __post_init__(self) -> None:
        """Put the station together."""
        self.journal = MemoryJournal(self.clock)
        self.station = Station(
            self.journal,
            self.clock,
            BatchRules(),
            grammar(),
            replies(),
            scale=self.scale,
            attention_word=self.attention_word,
        )
        self.inbox: Queue[Message] = Queue()
        self.loop = Loop(self.station, self.inbox, lambda turn, _: self.turns.append(turn), act_above=0.85)

    def say(self, text: str, *, unsure: bool = False) -> str:
        """The replies to a sentence, joined."""
        return " ".join(reply.text for reply in self.station.hear(text, unsure=unsure).replies)

    def wait(self, seconds: float) -> list[Turn]:
        """Let time pass; what fell due in it."""
        before = len(self.turns)
        self.loop.pass_time(self.clock, seconds)
        return self.turns[before:]

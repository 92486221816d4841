"""A station to test: the shipped grammar and wording, a journal in memory, a clock that moves when told."""

from dataclasses import dataclass, field
from functools import cache

from assistant.batch.record.rules import BatchRules
from assistant.clock import ScriptedClock
from assistant.config.resources import grammar_folder
from assistant.nlg.replies import Replies
from assistant.nlg.speech import Speech
from assistant.nlu import Grammar, load_grammar
from assistant.station.station import Station
from assistant.testing.journal import MemoryJournal


@cache
def grammar() -> Grammar:
    """The shipped grammar, read once."""
    return load_grammar(grammar_folder() / "commands.jsgf")


@cache
def replies() -> Replies:
    """The shipped wording, read once."""
    return Replies.load(grammar_folder() / "replies.toml", speech=Speech())


@dataclass
class Stand:
    """Station and what it stands on."""

    clock: ScriptedClock = field(default_factory=ScriptedClock)

    def __post_init__(self) -> None:
        """Put the station together."""
        self.journal = MemoryJournal(self.clock)
        self.station = Station(self.journal, self.clock, BatchRules(), grammar(), replies())

    def say(self, text: str, *, unsure: bool = False) -> str:
        """The replies to a sentence, joined."""
        return " ".join(reply.text for reply in self.station.hear(text, unsure=unsure).replies)

"""The batch before once more: the same flour, marks, recipe and lot."""

from assistant.batch.decide.draft import Draft
from assistant.batch.decide.making.account import open_with
from assistant.batch.record.commands import SameAgain


def no_batch_to_repeat(d: Draft, _command: SameAgain) -> bool:
    """Whether there is no batch before, and none open; says so."""
    if d.state.batch is not None or d.state.made_of is not None:
        return False
    d.say("no_batch_before")
    return True


def same_again(d: Draft, command: SameAgain) -> None:
    """Open a batch like the one before; what was named for the next batch meanwhile goes before."""
    like = d.state.made_of
    open_with(d, command, like.flour_g if like else 0.0, like=like)

"""After a bare "no" to what was read back, and "How much, then?": what a whole command says of it. Pure."""

from dataclasses import replace

from assistant.batch.decide.slots import READ_BACK, Meant, corrected, kind_of
from assistant.batch.record import commands as cmd
from assistant.batch.record.hopper.entries import OUT
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import Question, State
from assistant.dough.amounts import Amount

ENTRIES = (cmd.AddWater, cmd.AddFlour, cmd.AddAddition, cmd.TookOut, cmd.Scrap)
"""Commands that put something into the account."""


def said_in_full(state: State, question: Question, command: cmd.Command, rules: BatchRules) -> Meant | None:
    """What a whole command says of what was called wrong; None where the cook has gone on.

    The same command says it rightly; another entry of the account is what it was instead.
    """
    step = state.undo[-1]
    first, *rest = command.commands if isinstance(command, cmd.Together) else (command,)
    if READ_BACK[step.what].withdrawn or state.batch is None:
        again = kind_of(first) is kind_of(question.command)
        return Meant(command, same=False, withdraws=True) if again else None
    last = state.batch.entries[-1]
    match first:
        case cmd.NewBatch(value) if last.number == state.batch.entries[0].number:
            pass
        case cmd.AddWater(value) if last.kind == "water":
            pass
        case cmd.AddFlour(value) if last.kind == "flour":
            pass
        case cmd.Scrap(value) if last.kind == "scrap":
            pass
        case cmd.TookOut(value, what) if last.kind in ([OUT[what]] if what else OUT.values()):
            pass
        case cmd.AddAddition(name, Amount() as value) if last.name == name:
            pass
        case _:
            replaces = isinstance(first, ENTRIES) and step.what not in ("BatchOpened", "EntryCorrected")
            return Meant(command, same=False, withdraws=True, instead=True) if replaces else None
    meant = corrected(step, state, value, rules)
    return replace(meant, command=cmd.Together((meant.command, *rest))) if rest else meant

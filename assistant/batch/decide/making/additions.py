"""The additions of a recipe: each counts when the cook says that it is in, and is asked for until then.

They may go in before, between and after the pours. What is still to come is counted in what is left to pour,
so that no pour that is asked for passes a mark once they are in.
"""

from assistant.batch.decide.draft import Draft
from assistant.batch.record.batch import Batch
from assistant.batch.record.commands import AddAddition, Command
from assistant.dough.amounts import Amount
from assistant.dough.ingredients import Addition


def ask_addition(d: Draft) -> bool:
    """Ask whether the next addition is in; whether that was said.

    Not into another question, nor where more was said in this breath: it is asked again.
    """
    batch, open_one = d.state.batch, d.state.question
    if batch is None or not batch.to_come or d.then or d.not_in_yet:
        return False
    if open_one is not None:
        if open_one.reason != "addition":
            return False
        say_addition(d, batch.to_come[0])
        return True
    _ask(d, batch.to_come[0])
    return True


def asked_before(d: Draft, command: Command) -> bool:
    """Whether an addition is asked about before a command that tells of the dough, which then waits."""
    batch = d.batch
    if not batch.to_come or d.not_in_yet:
        return False
    behind, d.then = d.then, (command, *d.then)
    _ask(d, batch.to_come[0])
    d.then = behind
    return True


def _ask(d: Draft, one: Addition) -> None:
    command = AddAddition(one.name, Amount(one.grams, exact=True))
    d.ask("addition", command, "ask_addition", grams=one.grams, ingredient=one.name)


def say_addition(d: Draft, one: Addition) -> None:
    """Say again what the open question asks."""
    d.say("ask_addition", "question", grams=one.grams, ingredient=one.name)


def by_recipe(batch: Batch | None, said: str) -> Addition | None:
    """The addition of the batch's recipe that is called so, or has all these words in its name.

    One that is to come goes before one that is in.
    """
    if batch is None or batch.plan is None:
        return None
    words = set(said.split())
    known = (*batch.to_come, *batch.plan.additions(batch.entries[0].grams))
    return next((one for one in known if words <= set(one.name.split())), None)


def is_waited_for(batch: Batch, name: str) -> bool:
    """Whether an addition of this name is to come."""
    return any(one.name == name for one in batch.to_come)

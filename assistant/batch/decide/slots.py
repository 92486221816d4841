"""Bare values: what an open question, or what was just read back, makes of them. Pure.

A command has at most one slot, the value that is said last: "new batch" has an amount, "rest" a time.
Whatever asks for a value, or says one back, leaves that slot open for `BatchRules.question_s`: a value alone
then answers the question or corrects what was read back.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, Final

from assistant.batch.decide.handlers import HANDLERS, Slot
from assistant.batch.decide.making.mishearing import twin
from assistant.batch.record import commands as cmd
from assistant.batch.record.batch import HALF_GRAM
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import Question, State, Undoable
from assistant.dough.amounts import Amount, density_g_per_ml
from assistant.ports import Asking

GIVEN: dict[type[cmd.Command], Asking] = {
    cmd.GivenAmount: Asking.AMOUNT,
    cmd.GivenTime: Asking.TIME,
    cmd.GivenPercent: Asking.PERCENT,
    cmd.GivenCount: Asking.COUNT,
    cmd.GivenLot: Asking.LOT,
    cmd.GivenRecipe: Asking.RECIPE,
    cmd.GivenShape: Asking.SHAPE,
    cmd.GivenTimer: Asking.TIMER,
    cmd.GivenTray: Asking.TRAY,
}
"""Commands that are a bare value, and the slot that they fill."""


@dataclass(frozen=True, slots=True)
class ReadBack:
    """How what was read back is corrected: the command that says it right, with the value in its slot."""

    slot: Asking
    says: str
    """Tag of the command that it is read back for: the question what was meant is worded by it."""
    command: Callable[[Undoable, Any], cmd.Command]
    """Step and value -> command."""
    withdrawn: bool = True
    """Whether the step is taken back before it; the account corrects its entries itself."""


def _entry(_step: Undoable, value: Amount) -> cmd.Command:
    return cmd.MakeThat(value)


def _of_account(says: str) -> ReadBack:
    return ReadBack(Asking.AMOUNT, says, _entry, withdrawn=False)


READ_BACK: dict[str, ReadBack] = {
    "BatchOpened": _of_account("new_batch"),
    "WaterAdded": _of_account("water"),
    "FlourAdded": _of_account("flour"),
    "AdditionAdded": _of_account("addition"),
    "TakenOut": _of_account("took_out"),
    "ScrapWeighed": _of_account("scrap"),
    "EntryCorrected": _of_account("make_that"),
    "TargetSet": ReadBack(Asking.PERCENT, "target", lambda _, value: cmd.SetTarget(value)),
    "LotNamed": ReadBack(Asking.LOT, "lot", lambda _, value: cmd.SetLot(value)),
    "RecipeChosen": ReadBack(Asking.RECIPE, "recipe", lambda _, value: cmd.UseRecipe(value)),
    "MixStarted": ReadBack(Asking.TIME, "mix", lambda _, value: cmd.Mix(value)),
    "RestStarted": ReadBack(Asking.TIME, "rest", lambda _, value: cmd.Rest(value)),
    "TimerSet": ReadBack(Asking.TIME, "timer", lambda step, value: cmd.SetTimer(step.timer or "1", value)),
    "TimerExtended": ReadBack(Asking.TIME, "add_time", lambda step, value: cmd.AddTime(value, step.timer)),
    "DieNamed": ReadBack(Asking.SHAPE, "new_die", lambda _, value: cmd.NewDie(value)),
    "PortionsCounted": ReadBack(Asking.COUNT, "portions", lambda _, value: cmd.Portions(value)),
}
"""Class of the last event that can be taken back -> how a bare value corrects it."""


SAID_WRONG: Final = "said_wrong"
"""Reason of the question what was meant, after a bare "no" to what was read back."""


@dataclass(frozen=True, slots=True)
class Meant:
    """What a bare value means at this moment."""

    command: cmd.Command
    """With the value in its place."""
    same: bool
    """Whether it is the value that was asked about, or read back."""
    contrasted: bool = False
    """Whether it is the twin of that one: said instead of it, it can't be misheard for it."""
    withdraws: bool = False
    """Whether what was read back is taken back first."""
    corrects: bool = False
    """Whether it leaves the open question alone, and corrects what was read back before that."""
    instead: bool = False
    """Whether it is another kind of thing than what was read back: that this is taken back has to be said."""


def open_slot(state: State, now: float, rules: BatchRules) -> Asking:
    """What may be said besides commands at station time `now` (s), as far as the batch goes."""
    question = _open(state, now)
    if question is not None:
        slot = slot_of(question.command)
        return Asking.ANSWER if slot is None else slot.asking
    step = read_back(state, now, rules)
    if step is not None:
        return READ_BACK[step.what].slot
    if state.walk is not None:
        return Asking.ANSWER
    return Asking.CRUMB if state.phase is Phase.SQUEEZING else Asking.NOTHING


def slot_of(command: cmd.Command) -> Slot | None:
    """The slot of a command, of one that lacks its value, or of the first of two."""
    match command:
        case cmd.Together(commands=(first, *_)):
            return slot_of(first)
        case cmd.Incomplete(command=name):
            return HANDLERS[cmd.COMMANDS[name]].slot
        case _:
            return HANDLERS[type(command)].slot


def meant_by(state: State, given: cmd.Command, now: float, rules: BatchRules) -> Meant | None:
    """What a bare value means now; None where it is talk."""
    asking = GIVEN[type(given)]
    value = getattr(given, fields(given)[0].name)
    question = _open(state, now)
    if question is not None:
        slot = slot_of(question.command)
        if slot is None or slot.asking is not asking:
            return None
        if question.reason == SAID_WRONG:
            return replace(corrected(state.undo[-1], state, value, rules), corrects=True)
        step = read_back(state, now, rules)
        if step is not None and READ_BACK[step.what].slot is not asking:
            step = None
        if isinstance(value, Amount) and step is not None and is_of_the_last_entry(state, value, rules):
            return replace(corrected(step, state, value, rules), corrects=True)
        return _answer(question, slot, value, rules)
    step = read_back(state, now, rules)
    if step is None or READ_BACK[step.what].slot is not asking:
        return None
    return corrected(step, state, value, rules)


def is_of_the_last_entry(state: State, amount: Amount, rules: BatchRules) -> bool:
    """Whether an amount, said when it was asked if an addition is in, rather corrects the entry before.

    That question comes in one reply with the read-back of flour or water: of the two, the one that the amount
    is nearer to in proportion was meant.
    """
    question, batch = state.question, state.batch
    if question is None or question.reason != "addition" or batch is None:
        return False
    asked = question.command
    if not isinstance(asked, cmd.AddAddition) or asked.amount is None:
        # A verdict or the end of the batch waits for the answer: nothing was read back since.
        return False
    said = _grams(amount, rules)
    if not said > 0:
        return False
    last, addition = batch.entries[-1].grams, _grams(asked.amount, rules)
    return abs(math.log(said / last)) < abs(math.log(said / addition))


def now_meant(state: State, command: cmd.Command | None, now: float, rules: BatchRules) -> cmd.Command | None:
    """The command itself, or what a bare value means; None where that is talk."""
    command = None if command is None else as_given(state, command, now)
    if command is None or type(command) not in GIVEN:
        return command
    meant = meant_by(state, command, now, rules)
    return None if meant is None else meant.command


def as_given(state: State, command: cmd.Command, now: float) -> cmd.Command:
    """Flour, or what is in, as the bare value that it is where a new batch wants its flour.

    Any other command as it is.
    """
    question = _open(state, now)
    if isinstance(command, cmd.AddFlour | cmd.AddWater) and question is not None:
        asked = question.command
        first = asked.commands[0] if isinstance(asked, cmd.Together) else asked
        if isinstance(first, cmd.Incomplete) and kind_of(first) is cmd.NewBatch:
            return cmd.GivenAmount(command.amount)
    return command


def _open(state: State, now: float) -> Question | None:
    question = state.question
    return None if question is None or question.expires <= now else question


def read_back(state: State, now: float, rules: BatchRules) -> Undoable | None:
    """The last step, while a bare value may still correct it."""
    step = state.undo[-1] if state.undo else None
    if step is None or step.what not in READ_BACK or not 0 <= now - step.at <= rules.question_s:
        return None
    return None if step.what in _OF_A_BATCH and state.batch is None else step


_OF_A_BATCH = {name for name, row in READ_BACK.items() if not row.withdrawn}


def kind_of(command: cmd.Command) -> type[cmd.Command]:
    """Class of a command, of the one that lacks its value, or of the first of two."""
    match command:
        case cmd.Together(commands=(first, *_)):
            return kind_of(first)
        case cmd.Incomplete(command=name):
            return cmd.COMMANDS[name]
        case _:
            return type(command)


def filled(command: cmd.Command, slot: Slot, value: Any) -> cmd.Command:
    """The command, or the first of two, with this value in its slot."""
    if isinstance(command, cmd.Together):
        first, *rest = command.commands
        return cmd.Together((filled(first, slot, value), *rest))
    if isinstance(command, cmd.Incomplete):
        said: dict[str, Any] = dict(command.given)
        kind: Any = cmd.COMMANDS[command.command]
        if kind is cmd.SetTimer:
            said.setdefault("name", "1")
        return kind(**{**said, slot.field: value})  # type: ignore[no-any-return]
    changed: dict[str, Any] = {slot.field: value}
    return replace(command, **changed)


def _answer(question: Question, slot: Slot, value: Any, rules: BatchRules) -> Meant:
    """The command of an open question, with this value."""
    command = question.command
    first = command.commands[0] if isinstance(command, cmd.Together) else command
    with_value = filled(command, slot, value)
    if isinstance(first, cmd.Incomplete):
        return Meant(with_value, same=False)
    asked = getattr(first, slot.field)
    return Meant(with_value, same=_alike(asked, value, rules), contrasted=_are_twins(asked, value, rules))


def corrected(step: Undoable, state: State, value: Any, rules: BatchRules) -> Meant:
    """The command that says rightly what was read back."""
    row = READ_BACK[step.what]
    command = row.command(step, value)
    if row.withdrawn or state.batch is None:
        return Meant(command, same=False, withdraws=row.withdrawn)
    logged = Amount(state.batch.entries[-1].grams, exact=True)
    same, twins = _alike(logged, value, rules), _are_twins(logged, value, rules)
    return Meant(command, same=same, contrasted=twins)


def _alike(one: Any, other: Any, rules: BatchRules) -> bool:
    if not isinstance(one, Amount) or not isinstance(other, Amount):
        return bool(one == other)
    return abs(_grams(one, rules) - _grams(other, rules)) <= HALF_GRAM


def _are_twins(one: Any, other: Any, rules: BatchRules) -> bool:
    """Whether two amounts are a number and its twin."""
    if not isinstance(one, Amount) or not isinstance(other, Amount):
        return False
    return twin(round(_grams(other, rules), 3)) == round(_grams(one, rules), 3)


def _grams(amount: Amount, rules: BatchRules) -> float:
    return amount.grams(density_g_per_ml(rules.water_temperature_c))

"""The buttons of the page: exactly what makes sense now, six at most. One table. Pure.

None of them stands for a machine: each is something that the cook tells, which could as well be said.
"""

import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from assistant.batch.decide.answers import next_step, slot_is_open
from assistant.batch.record import commands as cmd
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.board.board_words import BoardWords
from assistant.dough.amounts import Amount

MOST = 6


@dataclass(frozen=True, slots=True)
class Button:
    """A button, for as long as the state is what it was made for."""

    name: str
    command: cmd.Command
    key: str
    """Names the button and what it was offered for: pressed later, when that has passed, it does nothing."""

    def shown(self, words: BoardWords) -> dict[str, Any]:
        """What the page needs of it."""
        values: dict[str, Any] = {}
        match self.command:
            case cmd.AddWater(amount) | cmd.AddFlour(amount):
                values = {"grams": amount.value}
            case cmd.AddAddition(ingredient, Amount() as amount):
                values = {"grams": amount.value, "name": ingredient}
        return {"name": self.name, "key": self.key, "label": words.text(f"button.{self.name}", **values)}


def buttons(state: State, now: float, rules: BatchRules) -> tuple[Button, ...]:
    """The buttons that make sense at station time `now` (s), the most urgent first."""
    found = []
    for name, (fits, made) in _TABLE.items():
        command = made(state, now, rules) if fits(state) else None
        if command is not None:
            found.append(Button(name, command, _key(name, command, state)))
    return tuple(found[:MOST])


def pressed(key: str, state: State, now: float, rules: BatchRules) -> cmd.Command | None:
    """What the button with this key stands for; None where it is not offered any more."""
    return next((one.command for one in buttons(state, now, rules) if one.key == key), None)


def _key(name: str, command: cmd.Command, state: State) -> str:
    question, batch = state.question, state.batch
    moment = (
        name,
        command,
        None if question is None else (question.expires, question.reason, question.command),
        None if batch is None else (batch.number, len(batch.entries), batch.phase.value, batch.trays),
        state.undo[-1].at if state.undo else None,
        None if state.walk is None else (state.walk.name, state.walk.at),
        [one.name for one in state.ringing],
    )
    return f"{name}-{zlib.crc32(repr(moment).encode()):08x}"


def _free(state: State) -> bool:
    """Whether neither a question nor a walk-through is open."""
    return state.question is None and state.walk is None


def _in(*phases: Phase) -> Callable[[State], bool]:
    return lambda state: _free(state) and state.phase in phases


def _yes_or_no(state: State) -> bool:
    return state.question is not None and not slot_is_open(state.question)


def _always(command: cmd.Command) -> "_Made":
    return lambda _state, _now, _rules: command


def _poured(state: State, now: float, rules: BatchRules) -> cmd.Command | None:
    """The pour that the next step asks for."""
    amount = _asked_for(("next_first_pour", "next_pour"), "grams", state, now, rules)
    return None if amount is None else cmd.AddWater(amount)


def _floured(state: State, now: float, rules: BatchRules) -> cmd.Command | None:
    """The flour that the next step asks for, where there is too much water."""
    amount = _asked_for(("rescue_fits", "wet_flour"), "flour", state, now, rules)
    return None if amount is None else cmd.AddFlour(amount)


def _added(state: State, now: float, rules: BatchRules) -> cmd.Command | None:
    """The addition that the next step asks for; its question has lapsed, so that a yes would mean nothing."""
    for one in next_step(state, now, rules):
        if one.key == "ask_addition":
            amount = Amount(float(str(one.values["grams"])), exact=True)
            return cmd.AddAddition(str(one.values["ingredient"]), amount)
    return None


def _asked_for(
    keys: tuple[str, ...], value: str, state: State, now: float, rules: BatchRules
) -> Amount | None:
    """What the next step asks for, in whole grams as it is shown."""
    for one in next_step(state, now, rules):
        if one.key in keys:
            return Amount(float(round(float(str(one.values[value])))), exact=True)
    return None


_Made = Callable[[State, float, BatchRules], cmd.Command | None]
_CHECK = (Phase.SQUEEZING,)
_TABLE: dict[str, tuple[Callable[[State], bool], _Made]] = {
    "got_it": (lambda state: bool(state.ringing), _always(cmd.GotIt())),
    "yes": (_yes_or_no, _always(cmd.Answer(yes=True))),
    "no": (_yes_or_no, _always(cmd.Answer(yes=False))),
    "cancel": (
        lambda state: state.question is not None and slot_is_open(state.question),
        _always(cmd.Answer(yes=False)),
    ),
    "listen": (lambda state: not state.listening, _always(cmd.Listening(on=True))),
    "done": (lambda state: state.question is None and state.walk is not None, _always(cmd.WalkMove("done"))),
    "back": (lambda state: state.question is None and state.walk is not None, _always(cmd.WalkMove("back"))),
    "addition": (lambda state: _free(state) and state.batch is not None, _added),
    "poured": (_in(Phase.POURING), _poured),
    "floured": (_in(Phase.POURING), _floured),
    "mix": (_in(Phase.POURING), _always(cmd.Mix())),
    "dry": (_in(*_CHECK), _always(cmd.JudgeCrumb("dry"))),
    "ready": (_in(*_CHECK), _always(cmd.JudgeCrumb("ready"))),
    "wet": (_in(*_CHECK), _always(cmd.JudgeCrumb("wet"))),
    "extruding": (_in(Phase.READY), _always(cmd.Extruding())),
    "die_warm": (
        lambda state: _in(Phase.EXTRUDING)(state) and state.batch is not None and not state.batch.die_warm,
        _always(cmd.DieWarm()),
    ),
    "tray": (_in(Phase.EXTRUDING), _always(cmd.TrayDone())),
    "close": (_in(Phase.EXTRUDING), _always(cmd.CloseBatch())),
    "rest": (_in(Phase.SQUEEZING, Phase.READY), _always(cmd.Rest())),
    "undo": (lambda state: _free(state) and bool(state.undo), _always(cmd.Undo())),
}
"""Name -> when it is offered, and the command that it stands for; in the order of urgency."""

"""Tags -> Command. The comment at the top of `grammar/en/commands.jsgf` explains the tags too.

`{command=water}` names the command, `{verdict=dry}` fills one of its slots, `{missing=number}` makes it
Incomplete. Numbers are computed from left to right in one register: `{+50}` adds, `{*100}` multiplies, `{&7}`
appends a digit, `{keep}` sets the number aside and begins again; what was set aside is added in the end.
`{then}` ends a command: what follows is another one, said in the same breath.
Digits that were typed are appended as by `&`. The number fills the command's amount, time, count or percent;
where it has none of these, its text, as it was written (a lot keeps its zeros).
"""

import re
from collections.abc import Iterable
from dataclasses import MISSING, dataclass, fields
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import cache
from types import UnionType
from typing import Any, Literal, get_args, get_origin, get_type_hints

from assistant.batch.record.commands import COMMANDS, Command, Incomplete, NewBatch, Together, UseRecipe
from assistant.dough.amounts import Amount, Unit
from assistant.nlu.construction import NUMBER, TYPED

COMMAND, LACKS, UNIT, THEN = "command", "missing", "unit", "then"
LARGEST = Decimal(10) ** 9
"""A number from here on is taken for a slip of the keyboard."""


@dataclass(frozen=True, slots=True)
class Operation:
    """What a tag does."""

    kind: str
    """One of "set", "+", "*", "&", "keep", "then" or "typed"."""
    name: str = ""
    """Slot that it sets."""
    value: Any = None
    """The slot's value, or the operand."""

    @property
    def sets_number(self) -> bool:
        """Whether the number register holds something after it."""
        return self.kind in ("+", "&", "typed")


@dataclass(frozen=True, slots=True)
class _Shape:
    """What a command is made of."""

    kinds: dict[str, tuple[Any, ...]]
    """Field -> its kinds."""
    number: str | None
    """The field that a number fills; None where there is none."""
    required: tuple[str, ...]
    """Fields without a default."""

    @property
    def slots(self) -> list[str]:
        """Names that a tag may set."""
        plain = [name for name, kinds in self.kinds.items() if Amount not in kinds]
        return plain if len(plain) == len(self.kinds) else [*plain, UNIT]


@cache
def _shape(command: str) -> _Shape:
    cls = COMMANDS[command]
    hints = get_type_hints(cls)
    kinds = {name: get_args(hint) if isinstance(hint, UnionType) else (hint,) for name, hint in hints.items()}
    numeric = [name for name, kind in kinds.items() if {Amount, float, int}.intersection(kind)]
    texts = [name for name, kind in kinds.items() if str in kind]
    required = tuple(field.name for field in fields(cls) if field.default is MISSING)
    return _Shape(kinds, next(iter(numeric + texts), None), required)


@cache
def _slots() -> dict[str, tuple[Any, ...]]:
    """Kinds of every slot of any command."""
    named = {name: kinds for command in _names() for name, kinds in _shape(command).kinds.items()}
    plain = {name: kinds for name, kinds in named.items() if Amount not in kinds}
    lacks = get_type_hints(Incomplete)[LACKS]
    return plain | {UNIT: (Unit,), LACKS: (lacks,), COMMAND: (Literal[tuple(_names())],)}


def _names() -> list[str]:
    return [name for name, cls in COMMANDS.items() if cls not in (Incomplete, Together)]


def names_command(tag: str) -> bool:
    """Whether a tag names a command."""
    return tag.startswith(COMMAND + "=")


@cache
def read_tag(tag: str) -> Operation:
    """Operation of a tag; raises ValueError with what was found and what is allowed."""
    if tag == TYPED + NUMBER:
        return Operation("typed")
    if tag in ("keep", "then"):
        return Operation(tag)
    kind, operand = tag[:1], tag[1:].strip()
    if kind == "&":
        if not re.fullmatch(r"[0-9A-Z.]+", operand):
            raise ValueError(
                f"found the tag {{{tag}}}; & appends digits, a point or a lot's capital letters, as {{&7}}."
            )
        return Operation(kind, value=operand)
    if kind in ("+", "*"):
        if not re.fullmatch(r"-?[0-9]*\.?[0-9]+", operand):
            raise ValueError(f"found the tag {{{tag}}}; a number follows {kind}, as {{{kind}50}}.")
        return Operation(kind, value=Decimal(operand))
    name, equals, value = (part.strip() for part in tag.partition("="))
    if not equals:
        raise ValueError(
            f"found the tag {{{tag}}}; a tag is {{command=NAME}}, {{SLOT=VALUE}}, {{+NUMBER}}, {{*NUMBER}},"
            " {&DIGITS}, {keep}, {then}, or {typed SIGNS} right after <VOID>."
        )
    if name not in _slots():
        raise ValueError(f"found the tag {{{tag}}}; {_nearest(name, _slots(), 'slots')}")
    return Operation("set", name, _value(tag, value, _slots()[name]))


def _value(tag: str, value: str, kinds: tuple[Any, ...]) -> str | float | bool:
    """Value of a slot in its kind."""
    for kind in kinds:
        if get_origin(kind) is Literal:
            if value not in get_args(kind):
                raise ValueError(f"found the tag {{{tag}}}; {_nearest(value, get_args(kind), 'values')}")
        elif kind is bool:
            if value not in ("true", "false"):
                raise ValueError(f"found the tag {{{tag}}}; the values are true, false.")
            return value == "true"
        elif kind in (int, float):
            if not re.fullmatch(r"[-+]?[0-9]+" if kind is int else r"[-+]?[0-9]*\.?[0-9]+", value):
                raise ValueError(f"found the tag {{{tag}}}; the value is a number.")
            return int(value) if kind is int else float(value)
    if not value:
        raise ValueError(f"found the tag {{{tag}}}; a value follows the =.")
    return value


def _nearest(found: str, allowed: Iterable[str], what: str) -> str:
    near = get_close_matches(found, list(allowed), 1)
    return f"is {near[0]} meant?" if near else f"the {what} are {', '.join(allowed)}."


def problem_with(command: str, slots: frozenset[str], *, number: bool) -> str | None:
    """Why these slots, and a number, can't be the command; None when they can."""
    if not command:
        return "no tag names one, as {command=water} would"
    if LACKS in slots:
        return None
    shape = _shape(command)
    if strange := sorted(slots - set(shape.slots)):
        known = f"its slots are {', '.join(shape.slots)}" if shape.slots else "it has no slots"
        return f"{command} can't be given {strange[0]}; {known}"
    if number and (shape.number is None or shape.number in slots):
        return f"{command} has no place for a number"
    filled = slots | ({shape.number} if number else set())
    lacking = [name for name in shape.required if name not in filled]
    return f"{command} is left without its {lacking[0]}" if lacking else None


def command_of(steps: Iterable[tuple[str, str]]) -> Command:
    """Command of a sentence: its tags in order, each with the text of the word that it comes with."""
    breaths: list[list[tuple[str, str]]] = [[]]
    for tag, word in steps:
        if tag == THEN:
            breaths.append([])
        else:
            breaths[-1].append((tag, word))
    commands = tuple(_single_command(breath) for breath in breaths)
    match commands:
        case (single,):
            return single
        case (NewBatch() as opened, UseRecipe() as recipe):
            # "Two kilos of egg dough": the recipe that is named behind a batch is that of this batch.
            return Together((recipe, opened))
        case _:
            return Together(commands)


def _single_command(steps: Iterable[tuple[str, str]]) -> Command:
    """Command of tags that name one."""
    slots: dict[str, Any] = {}
    operations: list[tuple[Operation, str]] = []
    for tag, word in steps:
        operation = read_tag(tag)
        if operation.kind == "set":
            slots[operation.name] = operation.value
        else:
            operations.append((operation, word))
    name = slots.pop(COMMAND)
    if LACKS in slots:
        lacks = slots.pop(LACKS)
        slots.pop(UNIT, None)
        return Incomplete(name, lacks, tuple(sorted((slot, str(value)) for slot, value in slots.items())))
    shape = _shape(name)
    unit = slots.pop(UNIT, "g")
    if shape.number is not None and any(operation.sets_number for operation, _ in operations):
        exact = any(operation.kind == "typed" for operation, _ in operations)
        try:
            slots[shape.number] = _number(operations, shape.kinds[shape.number], unit, exact=exact)
        except (ValueError, InvalidOperation):
            return Incomplete(name, "number")
    return COMMANDS[name](**slots)


def _number(
    operations: list[tuple[Operation, str]], kinds: tuple[Any, ...], unit: Unit, *, exact: bool
) -> Amount | str | float:
    """Number of a sentence as the kind that its command takes; raises ValueError when it can't be one."""
    text, kept = "", Decimal(0)
    for operation, word in operations:
        match operation.kind:
            case "+":
                text = str(Decimal(text or 0) + operation.value)
            case "*":
                text = str(Decimal(text or 0) * operation.value)
            case "keep":
                kept, text = kept + Decimal(text or 0), ""
            case _:
                text += word if operation.kind == "typed" else operation.value
    if str in kinds:
        return text
    value = kept + Decimal(text or 0)
    if not 0 <= value < LARGEST or (int in kinds and value != value.to_integral_value()):
        raise ValueError(value)
    if Amount in kinds:
        return Amount(float(value), unit, exact)
    return int(value) if int in kinds else float(value)

"""Tags -> Command. The tags are a small language; `grammar/en/commands.jsgf` tells it to those who edit there.

`{command=water}` names the command, `{verdict=dry}` fills one of its slots, `{missing=number}` makes it Incomplete.
Numbers are reckoned from left to right in one register: `{+50}` adds, `{*100}` multiplies, `{&7}` writes behind,
`{keep}` sets the number aside and begins anew; what was set aside is added in the end. The number goes to the
command's amount, time, count or percent, or stays as it was written for a text, as a lot. Digits that were typed
are written behind as if by `&`.
"""

from collections.abc import Callable, Iterable
from dataclasses import MISSING, dataclass, fields
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import cache
from types import UnionType
from typing import Any, Literal, get_args, get_origin, get_type_hints

from assistant.batch.commands import COMMANDS, Amount, Answer, Command, Incomplete, Unit
from assistant.nlu.automaton import NUMBER, TYPED

COMMAND, MISSING_SLOT, UNIT = "command", "missing", "unit"
LARGEST = Decimal(10) ** 9
"""A number from here on is taken for a slip of the keyboard."""


@dataclass(frozen=True, slots=True)
class Operation:
    """What a tag does: `kind` is "set", "+", "*", "&", "keep" or "typed"; `name` and `value` are its operands."""

    kind: str
    name: str = ""
    value: Any = None

    @property
    def gives_number(self) -> bool:
        """Whether the number register holds something after it."""
        return self.kind in ("+", "&", "typed")


def is_ours(tag: str) -> bool:
    """Whether a tag says that a grammar means commands of ours."""
    return tag.startswith(COMMAND + "=")


@cache
def read_tag(tag: str) -> Operation:
    """Operation of a tag; raises ValueError with what is wrong and what is allowed."""
    if tag == TYPED + NUMBER:
        return Operation("typed")
    if tag == "keep":
        return Operation("keep")
    if tag[:1] == "&" and tag[1:].strip():
        return Operation("&", value=tag[1:].strip())
    if tag[:1] in ("+", "*"):
        try:
            return Operation(tag[0], value=Decimal(tag[1:].strip()))
        except InvalidOperation:
            raise ValueError(
                f"found the tag {{{tag}}}; after {tag[0]} stands a number, as {{+50}} or {{*0.5}}."
            ) from None
    name, equals, value = (part.strip() for part in tag.partition("="))
    if not equals or not name or not value:
        raise ValueError(
            f"found the tag {{{tag}}}; a tag is {{command=NAME}}, {{slot=value}}, {{+NUMBER}}, {{*NUMBER}}, {{&DIGITS}},"
            " {keep}, or {typed SIGNS} behind <VOID>."
        )
    if name == COMMAND and value not in _named():
        raise ValueError(f"found the command {value!r}; {_nearest(value, _named())}")
    if name == MISSING_SLOT:
        _literal(tag, value, get_args(get_type_hints(Incomplete)[MISSING_SLOT]))
    return Operation("set", name, value)


def missing_in(command: str, slots: frozenset[str], *, number: bool) -> str | None:
    """What keeps these slots and this number from being the command; None when nothing does."""
    if not command:
        return "no tag names one, as {command=water}"
    if MISSING_SLOT in slots:
        return None
    cls = COMMANDS[command]
    hints = get_type_hints(cls)
    takes = _number_field(cls)
    allowed = set(hints) | ({UNIT} if Amount in hints.values() else set())
    if strange := sorted(slots - allowed):
        known = ", ".join(sorted(allowed)) or "none"
        return f"{command} has no slot {strange[0]}; its slots: {known}"
    if number and (takes is None or takes in slots):
        return f"{command} has no place for a number"
    for field in fields(cls):
        given = field.name in slots or (number and field.name == takes)
        if not given and field.default is MISSING:
            return f"{command} is left without its {field.name}"
    return None


def check_slot(command: str, name: str, value: str) -> None:
    """Raise ValueError when a slot of a command can't have this value."""
    if name not in (COMMAND, MISSING_SLOT):
        _convert(COMMANDS[command], name, value)


def command_of(steps: Iterable[tuple[str, str]]) -> Command:
    """Command of a sentence: its tags in order, each with the text of the word at which it stands."""
    slots: dict[str, str] = {}
    text, kept, exact, number = "", Decimal(0), False, False
    for tag, word in steps:
        operation = read_tag(tag)
        number = number or operation.gives_number
        match operation.kind:
            case "set":
                slots[operation.name] = operation.value
            case "+":
                text = str(Decimal(text or 0) + operation.value)
            case "*":
                text = str(Decimal(text or 0) * operation.value)
            case "&":
                text += operation.value
            case "typed":
                text += word
                exact = True
            case "keep":
                kept, text = kept + Decimal(text or 0), ""
    name = slots.pop(COMMAND)
    if MISSING_SLOT in slots:
        return Incomplete(name, "number" if slots[MISSING_SLOT] == "number" else "unit")
    cls: Callable[..., Command] = COMMANDS[name]
    unit = slots.pop(UNIT, "g")
    values = {slot: _convert(COMMANDS[name], slot, value) for slot, value in slots.items()}
    field = _number_field(COMMANDS[name])
    if number and field is not None:
        kind = get_type_hints(COMMANDS[name])[field]
        try:
            values[field] = (
                text if kind is str else _number(kind, kept + Decimal(text or 0), unit, exact=exact)
            )
        except ValueError:
            return Incomplete(name, "number")
    return cls(**values)


def _number(kind: Any, value: Decimal, unit: str, *, exact: bool) -> Any:
    if value >= LARGEST or (kind is int and value != value.to_integral_value()):
        raise ValueError(value)
    if kind is Amount:
        return Amount(float(value), unit, exact)  # type: ignore[arg-type]
    return int(value) if kind is int else float(value)


def _named() -> list[str]:
    return [name for name, cls in COMMANDS.items() if cls is not Incomplete]


@cache
def _number_field(cls: type[Command]) -> str | None:
    """Field that a number fills: the one that is a number or an amount, else the first text."""
    hints = get_type_hints(cls)
    numeric = [name for name, hint in hints.items() if {Amount, float, int} & set(_kinds(hint))]
    texts = [name for name, hint in hints.items() if str in _kinds(hint)]
    return next(iter(numeric + texts), None)


def _kinds(hint: Any) -> tuple[Any, ...]:
    return get_args(hint) if isinstance(hint, UnionType) else (hint,)


def _convert(cls: type[Command], name: str, value: str) -> Any:
    if name == UNIT:
        return _literal(f"{UNIT}={value}", value, get_args(Unit))
    for kind in _kinds(get_type_hints(cls).get(name, str)):
        if get_origin(kind) is Literal:
            return _literal(f"{name}={value}", value, get_args(kind))
        if kind is bool:
            return _literal(f"{name}={value}", value, ("true", "false")) == "true"
        if kind in (int, float):
            try:
                return kind(value)
            except ValueError:
                raise ValueError(f"found the tag {{{name}={value}}}; {name} is a number.") from None
    return value


def _literal(tag: str, value: str, allowed: tuple[str, ...]) -> str:
    if value not in allowed:
        raise ValueError(f"found the tag {{{tag}}}; the value is one of {', '.join(allowed)}.")
    return value


def _nearest(value: str, allowed: Iterable[str]) -> str:
    near = get_close_matches(value, list(allowed), 1)
    return f"is {near[0]} meant?" if near else f"the commands are {', '.join(allowed)}."

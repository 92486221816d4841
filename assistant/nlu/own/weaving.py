"""Names and phrases become rules of the grammar: each row one rule, put beside what it is like.

A slot of a phrase is a rule of the grammar, so that it takes what the grammar takes there. What a phrase
means is read from a sentence in which each slot is a mark that no text has: the tags on its way are those of
the phrase.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from assistant.asr.phones import without_accents
from assistant.errors import GrammarError
from assistant.nlu.construction import TYPED
from assistant.nlu.grammar import Grammar
from assistant.nlu.meaning import COMMAND, THEN, read_tag
from assistant.nlu.own.rows import Kind, OwnName, Slotted, sayable, slotted
from assistant.nlu.syntax import (
    NULL,
    VOID,
    Alternatives,
    Expansion,
    Optional,
    Reference,
    Rule,
    Sequence,
    Source,
    Tagged,
    Word,
    parts,
)
from assistant.ports import Asking


@dataclass(frozen=True, slots=True)
class WordSlot:
    """A slot that a phrase may have."""

    rules: tuple[str, ...]
    """Rules that take its values; the first has the mark."""
    mark: str
    """Sign that stands for it where the meaning is read."""
    tag: str
    """Tag that the mark sets: no rule has it."""


SLOTS: Mapping[str, WordSlot] = {
    "amount": WordSlot(("amount",), "\ue000", "+0.000000101"),
    "time": WordSlot(("time",), "\ue001", "+0.000000102"),
    "percent": WordSlot(("percent",), "\ue002", "+0.000000103"),
    "count": WordSlot(("number", "digits"), "\ue003", "+0.000000104"),
    "lot": WordSlot(("lot_name",), "\ue004", "&0.0.1"),
    "recipe": WordSlot(("recipe_name",), "\ue005", "recipe=\ue005"),
    "shape": WordSlot(("shape",), "\ue006", "name=\ue006"),
    "timer": WordSlot(("timer_name",), "\ue007", "name=\ue007"),
}


@dataclass(frozen=True, slots=True)
class _Host:
    """Where the names of a kind go."""

    rules: tuple[str, ...]
    """The first of these that the grammar has takes them."""
    slot: str
    """Slot of the command that a name sets."""
    command: str | None = None
    """Command that it makes by itself."""


_HOSTS: Mapping[Kind, _Host] = {
    "timer": _Host(("own_timer", "timer_thing"), "name"),
    "shape": _Host(("shape",), "name"),
    "recipe": _Host(("recipe_name",), "recipe"),
    "walk": _Host(("walk",), "walk", "walk"),
    "cook": _Host(("own_cook",), "cook"),
    "lot": _Host(("own_lot", "lot_name"), "lot"),
}
PHRASE_HOSTS = ("own_phrase", "command", "")
"""Where phrases go: the first that the grammar has; "": a phrase is a public rule itself."""
_KNOWN_IN: Mapping[Kind, str] = {
    "timer": "timer_thing",
    "shape": "shape",
    "recipe": "recipe_name",
    "walk": "walk",
}


@dataclass(frozen=True, slots=True)
class Woven:
    """A row as a rule."""

    rule: str
    """Name of its rule."""
    host: str
    """Rule that it is an alternative of; "": it is public itself."""
    body: Expansion
    said: str
    means: str
    where: str
    asking: Asking = Asking.NOTHING
    """When it may be said."""


def weave(source: Source, rows: Iterable[Woven]) -> Source:
    """The rules with those of the rows."""
    rules = dict(source.rules)
    for row in rows:
        rules[row.rule] = Rule(row.rule, not row.host, row.body, 0, ())
        if row.host:
            host = rules[row.host]
            rules[row.host] = replace(host, body=_one_of((host.body, Reference(row.rule, 0))))
    return Source(source.file, rules)


def woven_name(source: Source, name: OwnName, rule: str) -> Woven:
    """A name as a rule. Raises GrammarError: what is wrong, without the place."""
    host = _HOSTS[name.kind]
    into = next((one for one in host.rules if one in source.rules), None)
    if into is None:
        raise GrammarError(
            f"the kitchen's own {source.file} has no rule <{host.rules[-1]}> for it; add that."
        )
    words = sayable(name.said)
    items: list[Expansion] = [_word(word) for word in words]
    if words[0] == "the" and len(words) > 1:
        items[0] = Optional(items[0])
    body: Expansion = Tagged(_in_order(items), f"{host.slot}={name.of}", 0)
    if host.command:
        body = Tagged(body, f"{COMMAND}={host.command}", 0)
    return Woven(rule, into, body, name.said, f"{name.kind} {name.of}", name.where)


def known_names(source: Source) -> dict[Kind, frozenset[str]]:
    """What can be said of each kind by the rules themselves."""
    return {
        kind: frozenset(_values(source, rule, f"{_HOSTS[kind].slot}=")) for kind, rule in _KNOWN_IN.items()
    }


def _values(source: Source, rule: str, prefix: str, seen: frozenset[str] = frozenset()) -> Iterator[str]:
    if rule not in source.rules or rule in seen:
        return
    for item in parts(source.rules[rule].body):
        if isinstance(item, Tagged) and item.tag.startswith(prefix):
            yield item.tag.removeprefix(prefix)
        elif isinstance(item, Reference):
            yield from _values(source, item.rule, prefix, seen | {rule})


def with_marks(source: Source) -> Source:
    """The rules of slots with their marks, to read meanings by."""
    rules = dict(source.rules)
    for slot in SLOTS.values():
        if (first := slot.rules[0]) in rules:
            mark = Tagged(Tagged(Reference(VOID, 0), TYPED + slot.mark, 0), slot.tag, 0)
            rules[first] = replace(rules[first], body=_one_of((rules[first].body, mark)))
    return Source(source.file, rules)


def woven_phrase(source: Source, marked: Grammar, said: str, means: str, where: str, rule: str) -> Woven:
    """A phrase as a rule; `marked`: grammar of the rules with marks.

    Raises GrammarError: what is wrong, without the place.
    """
    available = [name for name, slot in SLOTS.items() if slot.rules[0] in source.rules]
    phrase = slotted(said, available)
    asking, segments, slots = _meaning(marked, means, available)
    if missing := [name for name in phrase.slots if name not in slots]:
        raise GrammarError(f"{{{missing[0]}}} is not in what it means; write it there too, or take it out.")
    if missing := [name for name in slots if name not in phrase.slots]:
        raise GrammarError(f"it means something with {{{missing[0]}}}; write that into the phrase too.")
    tags = [tag for segment in segments for tag in segment]
    if phrase.slots != slots and (THEN in tags or any(read_tag(tag).kind != "set" for tag in tags)):
        raise GrammarError("its slots come in another order than in what it means; write them in that order.")
    command = next(tag.removeprefix(f"{COMMAND}=") for tag in tags if tag.startswith(f"{COMMAND}="))
    host = next((one for one in PHRASE_HOSTS if one in source.rules), "")
    if asking is not Asking.NOTHING:  # it is said when its command is: that is told by the name of the rule
        host = command
    return Woven(rule, host, _body(phrase, segments), said, means, where, asking)


def _meaning(
    marked: Grammar, means: str, available: list[str]
) -> tuple[Asking, list[list[str]], tuple[str, ...]]:
    """When a meaning may be said, its tags before, between and behind its slots, and the slots."""
    text = " ".join(
        SLOTS[part[1:-1]].mark if part.startswith("{") else part for part in _pieces(means, available)
    )
    by_tag = {SLOTS[name].tag: name for name in available}
    for asking in Asking:
        steps = marked.steps(text, asking=asking)
        if steps is None:
            continue
        segments: list[list[str]] = [[]]
        slots: list[str] = []
        for tag, word in steps:
            if tag in by_tag:
                slots.append(by_tag[tag])
                segments.append([])
            else:
                segments[-1].append(f"&{word}" if tag.startswith(TYPED) else tag)
        return asking, segments, tuple(slots)
    near = marked.suggest(text)
    for name, slot in SLOTS.items():
        near = near.replace(slot.mark, f"{{{name}}}") if near else near
    hint = f'did you mean "{near}"?' if near else "crumbcall parse says what is understood."
    raise GrammarError(f'"{means}" is not understood; {hint}')


def _pieces(means: str, available: list[str]) -> list[str]:
    """What a phrase means, in words, figures and slots."""
    found: list[str] = []
    for piece in means.replace("{", " {").replace("}", "} ").split():
        if piece.startswith("{") and piece.endswith("}"):
            slotted(f"x {piece}", available)
        found.append(piece)
    return found


def _body(phrase: Slotted, segments: list[list[str]]) -> Expansion:
    """Words, slots and tags in order: the tags around the slots as in what it means."""
    items: list[Expansion] = []
    following = iter(segments)
    before = next(following)
    if phrase.slots:
        first = f"{{{phrase.slots[0]}}}"
        for part in phrase.parts:
            if not part.startswith("{"):
                items.append(_word(part))
                continue
            if part == first:
                items += _tags(before)
            items += (_slot(part[1:-1]), *_tags(next(following)))
    else:
        items += (*(_word(word) for word in phrase.words), *_tags(before))
    return _in_order(items)


def _slot(name: str) -> Expansion:
    return _one_of(tuple(Reference(rule, 0) for rule in SLOTS[name].rules))


def _tags(tags: Iterable[str]) -> list[Expansion]:
    return [Tagged(Reference(NULL, 0), tag, 0) for tag in tags]


def _word(text: str) -> Expansion:
    """A word; without its accents too, where it is typed."""
    bare = without_accents(text)
    if bare == text:
        return Word(text, 0)
    return Alternatives((Word(text, 0), Tagged(Reference(VOID, 0), TYPED + bare, 0)))


def _in_order(items: list[Expansion]) -> Expansion:
    return items[0] if len(items) == 1 else Sequence(tuple(items))


def _one_of(items: tuple[Expansion, ...]) -> Expansion:
    return items[0] if len(items) == 1 else Alternatives(items)

"""A file in the JSpeech Grammar Format -> its rules.

Source: W3C Note "JSpeech Grammar Format", 5 June 2000. Left out: imports (a grammar is one file) and the use
of weights, which are read and checked; an alternative of weight zero can't be spoken, as the note says.
"""

import re
from difflib import get_close_matches
from pathlib import Path

from lark import Token, Tree

from assistant.errors import GrammarError
from assistant.nlu.jsgf_parser import parse_tree
from assistant.nlu.syntax import (
    NULL,
    VOID,
    Alternatives,
    Expansion,
    Optional,
    Reference,
    Repeat,
    Rule,
    Sequence,
    Source,
    Tagged,
    Word,
    parts,
)


def read_raw(path: Path) -> bytes:
    """Bytes of a JSGF file; raises GrammarError."""
    try:
        return path.read_bytes()
    except OSError as problem:
        raise GrammarError(
            f"{path}: the grammar can't be read ({problem.strerror}); give the path of a JSGF file."
        ) from None


def parse_raw(file: str, raw: bytes) -> Source:
    """Rules of the bytes of a JSGF file; raises GrammarError."""
    return parse_jsgf(_decode(file, raw), file)


def parse_jsgf(text: str, file: str) -> Source:
    """Rules of a JSGF text; `file` is its name for messages; raises GrammarError."""
    tree, documents = parse_tree(text, file)
    source = Source(file, {})
    own_prefix = str(
        next(child for child in tree.children if isinstance(child, Token) and child.type == "NAME")
    )
    reader = _Reader(source, own_prefix + ".")
    for node in tree.children:
        if not isinstance(node, Tree):
            continue
        name = node.children[0 if node.data == "import" else 1]
        line = _line(name)
        if node.data == "import":
            raise source.error(
                line, f"found an import of {name}; a grammar is one file here: copy that rule into it."
            )
        rule = reader.rule(node, documents)
        if rule.name in (NULL, VOID):
            raise source.error(
                line, f"<{rule.name}> is defined by the format itself; give the rule another name."
            )
        if rule.name in source.rules:
            first = source.rules[rule.name].line
            raise source.error(
                line, f"<{rule.name}> was already defined in line {first}; join the two with | or rename one."
            )
        source.rules[rule.name] = rule
    _check_references(source)
    return source


class _Reader:
    """Turns the parser's tree into rules."""

    def __init__(self, source: Source, own_prefix: str) -> None:
        self._source = source
        self._own_prefix = own_prefix

    def rule(self, node: Tree[Token], documents: list[Token]) -> Rule:
        public, name, body = node.children
        assert isinstance(name, Token)
        line = _line(public or name)
        examples: tuple[str, ...] = ()
        while documents and _line(documents[0]) <= line:
            examples = _examples(documents.pop(0))
        return Rule(self._name(name), public is not None, self._expansion(body), line, examples)

    def _name(self, token: Token) -> str:
        return str(token)[1:-1].removeprefix(self._own_prefix)

    def _expansion(self, node: Tree[Token] | Token | None) -> Expansion:
        assert isinstance(node, Tree)
        children = node.children
        match node.data:
            case "alternatives":
                return self._alternatives([child for child in children if isinstance(child, Tree)])
            case "token" | "quoted" | "reference":
                assert isinstance(children[0], Token)
                return self._leaf(str(node.data), children[0])
            case "tagged":
                tag = children[1]
                assert isinstance(tag, Token)
                text = re.sub(r"\\(.)", r"\1", str(tag)[1:-1]).strip()
                return Tagged(self._expansion(children[0]), text, _line(tag))
            case "optional":
                return Optional(self._expansion(children[0]))
            case repeat:
                return Repeat(self._expansion(children[0]), int(repeat == "some_times"))

    def _alternatives(self, nodes: list[Tree[Token]]) -> Expansion:
        weights = [node.children[0] for node in nodes]
        if any(weights) and not all(weights):
            line = next(_line(weight) for weight in weights if weight)
            raise self._source.error(
                line, "some alternatives have a weight and some not; give all of them one, or none."
            )
        found: list[Expansion] = []
        for node, weight in zip(nodes, weights, strict=True):
            if weight is not None and self._weight(weight) == 0:
                continue
            items = tuple(self._expansion(child) for child in node.children[1:])
            found.append(items[0] if len(items) == 1 else Sequence(items))
        if not found:
            return Reference(VOID, _line(weights[0]))
        return found[0] if len(found) == 1 else Alternatives(tuple(found))

    def _weight(self, token: Tree[Token] | Token) -> float:
        try:
            weight = float(str(token)[1:-1])
        except ValueError:
            weight = -1.0
        if not 0 <= weight < float("inf"):
            raise self._source.error(
                _line(token), f"found the weight {token}; a weight is a number from 0 up, as /2.5/."
            )
        return weight

    def _leaf(self, kind: str, token: Token) -> Expansion:
        line = _line(token)
        if kind == "reference":
            return Reference(self._name(token), line)
        text = str(token) if kind == "token" else re.sub(r"\\(.)", r"\1", str(token)[1:-1])
        words = tuple(Word(word, line) for word in text.casefold().split())
        if not words:
            raise self._source.error(
                line, f"found {token} without a word in it; write a word, or <NULL> for none."
            )
        return words[0] if len(words) == 1 else Sequence(words)


def _check_references(source: Source) -> None:
    if not any(rule.public for rule in source.rules.values()):
        raise GrammarError(
            f"{source.file}: no rule is public, so nothing can be said; "
            "write `public` before the rule to begin with."
        )
    for rule in source.rules.values():
        for reference in parts(rule.body):
            if (
                isinstance(reference, Reference)
                and reference.rule not in source.rules
                and reference.rule not in (NULL, VOID)
            ):
                near = get_close_matches(reference.rule, source.rules, 1)
                hint = f"is <{near[0]}> meant?" if near else "define it, or take it out."
                raise source.error(
                    reference.line, f"<{rule.name}> uses <{reference.rule}>, which no rule defines; {hint}"
                )


def _examples(comment: Token) -> tuple[str, ...]:
    """Values of the `@example` tags of a documentation comment."""
    lines = [line.strip().removeprefix("*").strip() for line in str(comment)[3:-2].splitlines()]
    return tuple(line.removeprefix("@example").strip() for line in lines if line.startswith("@example"))


def _line(token: object) -> int:
    return getattr(token, "line", None) or 1


def _decode(file: str, raw: bytes) -> str:
    """Text of a file in the encoding of its header; UTF-8 when it names none."""
    declared = re.match(rb"#JSGF[ \t]+V[0-9.]+[ \t]+([\w.:-]+)", raw)
    encoding = declared.group(1).decode("ascii") if declared else "utf-8"
    try:
        return raw.decode("utf-8-sig" if encoding.lower() in ("utf-8", "utf8") else encoding)
    except LookupError:
        raise GrammarError(f"{file}, line 1: the encoding {encoding} is not known; use UTF-8.") from None
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        raise GrammarError(
            f"{file}, line {line}: found bytes that are not {encoding}; save the file as UTF-8."
        ) from None

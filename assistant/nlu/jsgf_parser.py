"""The parser of the JSpeech Grammar Format: text -> tree, or an error that says what is allowed."""

from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

from lark import Lark, Token, Tree, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from assistant.errors import GrammarError

_TERMINALS = {
    "HEADER": "the header `#JSGF V1.0;`",
    "GRAMMAR": "`grammar NAME;`",
    "NAME": "a name",
    "PUBLIC": "`public`",
    "IMPORT": "",
    "RULE_NAME": "a <rule>",
    "TOKEN": "a word",
    "QUOTED": 'a "word"',
    "WEIGHT": "",
    "TAG": "a {tag}",
    "EQUAL": "`=`",
    "SEMICOLON": "`;`",
    "VBAR": "`|`",
    "STAR": "`*`",
    "PLUS": "`+`",
    "LPAR": "`(`",
    "RPAR": "`)`",
    "LSQB": "`[`",
    "RSQB": "`]`",
    "$END": "the end",
}
"""The parser's terminals in the words of a message, in the order in which messages list them."""


def parse_tree(text: str, file: str) -> tuple[Tree[Token], list[Token]]:
    """Tree of a JSGF text, and the documentation comments in it; `file` is its name for messages.

    Raises GrammarError.
    """
    parser, documents = _parser()
    documents.clear()
    try:
        return parser.parse(text), documents
    except UnexpectedInput as problem:
        raise GrammarError(_syntax_error(problem, text, file)) from None


def _syntax_error(problem: UnexpectedInput, text: str, file: str) -> str:
    found, line = "the end of the file", text.count("\n", 0, len(text.rstrip())) + 1
    if isinstance(problem, UnexpectedCharacters):
        found, line = f"`{problem.char}`", problem.line
    elif isinstance(problem, UnexpectedToken) and problem.token.type != "$END":
        found, line = f"`{problem.token}`", problem.token.line or line
    allowed = _allowed(text)
    names = [name for terminal, name in _TERMINALS.items() if name and terminal in allowed]
    return f"{file}, line {line}: found {found} where the format allows {' or '.join(names)}."


def _allowed(text: str) -> set[str]:
    """Terminals that the format allows where a text goes wrong: asked of the parser before the wrong one."""
    fed = 0
    with suppress(UnexpectedInput):
        for _ in _feeding(text):
            fed += 1
    # Again as far as it went well: a copy of the parser at every token takes a minute with a long file.
    unfed: Any = _parser()[0].parse_interactive(text)
    parser = [unfed, *islice(_feeding(text), fed)][-1]
    allowed: set[str] = parser.accepts()
    return allowed


def _feeding(text: str) -> Iterator[Any]:
    """The parser after each token of a text, up to the one that it refuses."""
    parser: Any = _parser()[0].parse_interactive(text)
    for token in parser.lexer_thread.lex(parser.parser_state):
        parser.feed_token(token)
        yield parser


@cache
def _parser() -> tuple[Lark, list[Token]]:
    """The parser, and the list into which it puts the documentation comments that it skips."""
    documents: list[Token] = []

    def keep(comment: Token) -> Token:
        documents.append(comment)
        return comment

    syntax = (Path(__file__).parent / "jsgf.lark").read_text(encoding="utf-8")
    return Lark(syntax, start="file", parser="lalr", lexer_callbacks={"DOC_COMMENT": keep}), documents

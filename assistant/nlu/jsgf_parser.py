"""The parser of the JSpeech Grammar Format: text -> tree, or an error that says what is allowed."""

from contextlib import suppress
from functools import cache
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
    parser: Any = _parser()[0].parse_interactive(text)
    lexer = parser.lexer_thread.lex(parser.parser_state)
    before = parser.copy()
    with suppress(UnexpectedInput):
        while (token := next(lexer, None)) is not None:
            parser.feed_token(token)
            before = parser.copy()
    allowed: set[str] = before.accepts()
    return allowed


@cache
def _parser() -> tuple[Lark, list[Token]]:
    """The parser, and the list into which it puts the documentation comments that it skips."""
    documents: list[Token] = []

    def keep(comment: Token) -> Token:
        documents.append(comment)
        return comment

    syntax = (Path(__file__).parent / "jsgf.lark").read_text(encoding="utf-8")
    return Lark(syntax, start="file", parser="lalr", lexer_callbacks={"DOC_COMMENT": keep}), documents

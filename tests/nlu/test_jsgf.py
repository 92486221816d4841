"""The format's own rules: W3C Note "JSpeech Grammar Format", 5 June 2000 (sections from memory)."""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import GrammarError
from assistant.nlu import load_grammar
from assistant.nlu.jsgf import parse_jsgf
from assistant.ports import Asking
from tests.nlu.grammars import grammar, jsgf, sentences


def language(rules: str, longest: int = 4) -> set[str]:
    return set(sentences(grammar(rules).graph(Asking.NOTHING), longest))


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        ("public <a> = one;", {"one"}),
        ("public <a> = one two;", {"one two"}),
        ("public <a> = one | two;", {"one", "two"}),
        # Sequence binds tighter than alternatives.
        ("public <a> = one two | three;", {"one two", "three"}),
        ("public <a> = one (two | three);", {"one two", "one three"}),
        ("public <a> = [one] two;", {"one two", "two"}),
        # Unary operators bind tighter than sequence.
        ("public <a> = one two*;", {"one", "one two", "one two two", "one two two two"}),
        ("public <a> = two+;", {"two", "two two", "two two two", "two two two two"}),
        ("public <a> = (one two)+;", {"one two", "one two one two"}),
        ("public <a> = <b> two; <b> = one;", {"one two"}),
        ("public <a> = <test.b>; <b> = one;", {"one"}),
        ("public <a> = one; public <b> = two;", {"one", "two"}),
        ("public <a> = one <NULL> two;", {"one two"}),
        # A sequence with <VOID> in it can't be spoken.
        ("public <a> = one <VOID> two | three;", {"three"}),
        # A weight of zero: never spoken. Other weights change nothing that may be said.
        ("public <a> = /10/ one | /0.5/ two | /0/ three;", {"one", "two"}),
        ("public <a> = one {tag} two {a \\} b};", {"one two"}),
        ("public <a> = (one {x} | two) {y} {z};", {"one", "two"}),
        ('public <a> = "new york" two;', {"new york two"}),
        ('public <a> = "say \\"hi\\"";', {'say "hi"'}),
        ("public <a> = ONE Two;", {"one two"}),
        # A rule may return to itself at its end.
        ("public <a> = one | one <a>;", {"one", "one one", "one one one", "one one one one"}),
        ("public <a> = one <b>; <b> = two [<a>];", {"one two", "one two one two"}),
        ("// note\npublic <a> = /* here */ one /** there */; /* end */", {"one"}),
        ("/**/ public <a> = one;", {"one"}),
        ("public <straße> = grüße;", {"grüsse"}),
        # Without tags that name commands two readings do not matter: nothing is parsed.
        ("public <a> = one | one | [two] [two];", None),
        # A rule of plain words may have any name.
        ("public <answer> = one; public <a> = two;", {"one", "two"}),
    ],
)
def test_what_may_be_said(rules: str, expected: set[str] | None) -> None:
    if expected is None:
        with pytest.raises(GrammarError, match="saying nothing"):
            grammar(rules)
    else:
        assert language(rules) == expected


def test_two_readings_do_not_matter_without_meaning() -> None:
    assert language("public <a> = one | one | [two] [two] three;") == {
        "one",
        "three",
        "two three",
        "two two three",
    }


def test_a_grammar_of_plain_words_parses_nothing() -> None:
    plain = grammar("public <a> = one {x} | two {y=z};")
    assert plain.parse("one") is None
    assert plain.suggest("one") is None
    assert plain.words == {"one", "two"}
    assert plain.phrases() == {}


def test_examples_of_documentation_comments() -> None:
    rules = """/**
 * Whatever.
 * @example one two
 * @example three
 */
public <a> = one two | three;
<b> = four;
/** @example five */
public <c> = five;"""
    assert grammar(rules).phrases() == {"a": ("one two", "three"), "c": ("five",)}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "bad.jsgf, line 1: found the end of the file where the format allows the header `#JSGF V1.0;`."),
        (
            "grammar test;",
            "bad.jsgf, line 1: found `grammar` where the format allows the header `#JSGF V1.0;`.",
        ),
        ("#JSGF V1.0;\n\n<a> = b;", "bad.jsgf, line 3: found `<a>` where the format allows `grammar NAME;`."),
        (
            "#JSGF V1.0;\ngrammar test",
            "bad.jsgf, line 2: found the end of the file where the format allows `;`.",
        ),
        (
            jsgf("<a> = ;"),
            'bad.jsgf, line 3: found `;` where the format allows a <rule> or a word or a "word" or `(` '
            "or `[`.",
        ),
        (
            jsgf("public <a> = b | ;"),
            'bad.jsgf, line 3: found `;` where the format allows a <rule> or a word or a "word" or `(` '
            "or `[`.",
        ),
        (
            jsgf("public <a> = {b} c;"),
            'bad.jsgf, line 3: found `{b}` where the format allows a <rule> or a word or a "word" or '
            "`(` or `[`.",
        ),
        (
            jsgf("public <a> = b\npublic <c> = d;"),
            'bad.jsgf, line 4: found `=` where the format allows a <rule> or a word or a "word" or a '
            "{tag} or `;`"
            " or `|` or `*` or `+` or `(` or `[`.",
        ),
        (
            jsgf("public <a> = (b;"),
            'bad.jsgf, line 3: found `;` where the format allows a <rule> or a word or a "word" or a '
            "{tag} or `|`"
            " or `*` or `+` or `(` or `)` or `[`.",
        ),
        (
            jsgf("public <a> = b {c;"),
            'bad.jsgf, line 3: found `{` where the format allows a <rule> or a word or a "word" or a '
            "{tag} or `;`"
            " or `|` or `*` or `+` or `(` or `[`.",
        ),
        (
            jsgf('public <a> = "b;'),
            'bad.jsgf, line 3: found `"` where the format allows a <rule> or a word or a "word" or `(` '
            "or `[`.",
        ),
        (
            jsgf("import <com.acme.polite>;\npublic <a> = b;"),
            "bad.jsgf, line 3: found an import of <com.acme.polite>; a grammar is one file here:"
            " copy that rule into it.",
        ),
        (
            jsgf("public <a> = b;\n<a> = c;"),
            "bad.jsgf, line 4: <a> was already defined in line 3; join the two with | or rename one.",
        ),
        (
            jsgf("<NULL> = b;"),
            "bad.jsgf, line 3: <NULL> is defined by the format itself; give the rule another name.",
        ),
        (
            jsgf("public <amount> = b;\npublic <c> = <amont>;"),
            "bad.jsgf, line 4: <c> uses <amont>, which no rule defines; is <amount> meant?",
        ),
        (
            jsgf("public <a> = <xyz>;"),
            "bad.jsgf, line 3: <a> uses <xyz>, which no rule defines; define it, or take it out.",
        ),
        (
            jsgf("<a> = b;"),
            "bad.jsgf: no rule is public, so nothing can be said;"
            " write `public` before the rule to begin with.",
        ),
        (
            jsgf("public <a> = /2/ b | c;"),
            "bad.jsgf, line 3: some alternatives have a weight and some not; give all of them one, or none.",
        ),
        (
            jsgf("public <a> = /-1/ b | /2/ c;"),
            "bad.jsgf, line 3: found the weight /-1/; a weight is a number from 0 up, as /2.5/.",
        ),
        (
            jsgf("public <a> = /often/ b | /2/ c;"),
            "bad.jsgf, line 3: found the weight /often/; a weight is a number from 0 up, as /2.5/.",
        ),
        (
            jsgf('public <a> = b " ";'),
            'bad.jsgf, line 3: found " " without a word in it; write a word, or <NULL> for none.',
        ),
        (
            jsgf("public <a> =\n  <a> b | c;"),
            "bad.jsgf, line 4: <a> comes back to <a> before its end; a rule may return to itself only "
            "as its very"
            " last item: use * or + to repeat.",
        ),
        (
            jsgf("public <a> = b <VOID>;"),
            "bad.jsgf: no sentence can be said; every public rule leads to <VOID> or never ends.",
        ),
        (
            jsgf("public <a> = b <a>;"),
            "bad.jsgf: no sentence can be said; every public rule leads to <VOID> or never ends.",
        ),
        (
            jsgf("public <command> = <VOID>;\npublic <answer> = b {command=undo};"),
            "bad.jsgf: no sentence can be said; every public rule leads to <VOID> or never ends.",
        ),
        (
            jsgf("public <a> = b " + "(" * 5000 + "c" + ")" * 5000 + ";"),
            "bad.jsgf: brackets or rules are nested too deep to be read; nest fewer.",
        ),
        (
            jsgf(
                "public <r0> = <r1> <r1>;\n"
                + "".join(f"<r{n}> = <r{n + 1}> <r{n + 1}>;\n" for n in range(1, 20))
            )
            + "<r20> = b;",
            "bad.jsgf: the rules grow beyond 60000 states when each is copied to its uses;"
            " use * or + to repeat, and nest fewer rules.",
        ),
        (
            jsgf("public <a> = [b] c*;"),
            "bad.jsgf: a public rule can be met by saying nothing; make one of its words required.",
        ),
    ],
)
def test_errors_say_what_was_found_and_what_is_allowed(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "bad.jsgf"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(GrammarError) as caught:
        load_grammar(path)
    assert str(caught.value) == message


EXPLODES = """
import resource
room = 500 * 1024 * 1024
resource.setrlimit(resource.RLIMIT_DATA, (room, room))
from assistant.errors import GrammarError
from assistant.nlu.grammar import Grammar
from assistant.nlu.jsgf import parse_jsgf
from assistant.ports import Asking
words = " | ".join("w" + chr(97 + n // 26) + chr(97 + n % 26) for n in range(600))
try:
    Grammar(parse_jsgf(f"#JSGF V1.0 UTF-8 en;grammar g;{RULES}<w> = {words};", "g")).graph(Asking.NOTHING)
except GrammarError as error:
    print(error)
"""


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        (
            "public <a> = <w>* waa " + "<w> " * 20 + ";",
            "The grammar needs more than 1500000 arcs to be heard word by word;"
            " put fewer words that may be repeated before one that matters.",
        ),
        (
            "public <a> = " + "[<w>] " * 400 + "x;",
            "g: the rules grow beyond 1000000 arcs when each is copied to its uses;"
            " use * or + to repeat, and nest fewer rules.",
        ),
        (
            "public <a> = " + "<w> x " * 700 + "x;",
            "g: the rules grow beyond 400000 words when each is copied to its uses;"
            " use * or + to repeat, and nest fewer rules.",
        ),
    ],
    ids=["graph", "arcs", "words"],
)
def test_a_grammar_that_explodes_is_refused_before_the_memory_is_full(rules: str, message: str) -> None:
    """In a process that has 500 MB."""
    ran = subprocess.run(
        [sys.executable, "-c", EXPLODES.replace("{RULES}", rules)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (ran.stdout, ran.stderr) == (f"{message}\n", "")


def test_a_graph_that_would_grow_without_end() -> None:
    # Whether the twentieth word from the end was "b" takes two to the power of twenty states.
    tested = grammar("public <a> = (b | c)* b" + " (b | c)" * 20 + ";")
    with pytest.raises(GrammarError) as caught:
        tested.graph(Asking.NOTHING)
    assert str(caught.value) == (
        "The grammar needs more than 20000 states to be heard word by word;"
        " put fewer words that may be repeated before one that matters."
    )


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "none.jsgf"
    with pytest.raises(GrammarError) as caught:
        load_grammar(path)
    assert str(caught.value) == (
        f"{path}: the grammar can't be read (No such file or directory); give the path of a JSGF file."
    )


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (
            b"#JSGF V1.0 UTF-8 en;\ngrammar test;\npublic <a> = \xff;",
            "bad.jsgf, line 3: found bytes that are not UTF-8; save the file as UTF-8.",
        ),
        (
            b"#JSGF V1.0 KLINGON en;\ngrammar test;\npublic <a> = b;",
            "bad.jsgf, line 1: the encoding KLINGON is not known; use UTF-8.",
        ),
    ],
)
def test_bytes_that_are_no_text(tmp_path: Path, raw: bytes, message: str) -> None:
    path = tmp_path / "bad.jsgf"
    path.write_bytes(raw)
    with pytest.raises(GrammarError) as caught:
        load_grammar(path)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    "raw",
    [
        "#JSGF V1.0 ISO8859-1 de;\ngrammar test;\npublic <a> = mühle;".encode("latin-1"),
        "\ufeff#JSGF V1.0;\ngrammar test;\npublic <a> = mühle;".encode(),
        "#JSGF V1.0 UTF-8 de;\r\ngrammar test;\r\npublic <a> = mühle;\r\n".encode(),
    ],
)
def test_encodings(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "good.jsgf"
    path.write_bytes(raw)
    assert load_grammar(path).words == {"mühle"}


@given(st.text('#JSGFV1.0; \ngramr<ab>=|*+()[]{}"/\\', max_size=60))
def test_any_text_is_a_grammar_or_a_grammar_error(text: str) -> None:
    assert "\n" not in refusal("#JSGF V1.0;\ngrammar g;\n" + text)


def refusal(text: str) -> str:
    """What is said against a text; empty when nothing is."""
    try:
        parse_jsgf(text, "any.jsgf")
    except GrammarError as problem:
        return str(problem)
    return ""

"""Two readings of a sentence are found exactly; graphs have the right language in the fewest states."""

from collections import Counter
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record.commands import GivenLot, GivenTimer, Rest
from assistant.errors import GrammarError
from assistant.nlu.automaton import build
from assistant.nlu.checks.ambiguity import check_one_way
from assistant.nlu.graph import WordGraphs
from assistant.nlu.jsgf import parse_jsgf
from assistant.nlu.syntax import Alternatives, Expansion, Optional, Rule, Sequence, Source, Tagged, Word
from assistant.ports import Asking
from tests.nlu.grammars import accepts, arcs_of, grammar, jsgf, sentences


def refusal(rules: str) -> str | None:
    """What is said against rules with two readings; None when every sentence has one."""
    source = parse_jsgf(jsgf(rules), "test.jsgf")
    public = [rule.name for rule in source.rules.values() if rule.public]
    automaton = build(source, {Asking.NOTHING: public})
    try:
        check_one_way(automaton, source.file)
    except GrammarError as problem:
        return str(problem)
    return None


@pytest.mark.parametrize(
    "rules",
    [
        "public <a> = one | two;",
        "public <a> = one two | one three;",
        "public <a> = one [two] three [two];",
        "public <a> = one+ two one+;",
        "public <a> = (one | two)* three;",
        "public <a> = one | one one | one <b>; <b> = two <b> | two;",
        "public <a> = <tens> [<digit>]; <tens> = twenty | thirty; <digit> = one | two;",
    ],
)
def test_one_reading(rules: str) -> None:
    assert refusal(rules) is None


@pytest.mark.parametrize(
    ("rules", "sentence", "one", "other"),
    [
        ("public <a> = one | one;", "one", "<a> (line 3)", "<a> (line 3)"),
        ("public <a> = <b>\n| <c>;\n<b> = one;\n<c> = one;", "one", "<b> (line 5)", "<c> (line 6)"),
        # The rules in which the readings differ, not the one in which both end.
        (
            "public <a> = <b> | <c>;\n<b> = put <d> in;\n<c> = put <e> in;\n<d> = one;\n<e> = <d> | two;",
            "put one in",
            "<b> (line 4)",
            "<c> (line 5)",
        ),
        ("public <a> = [one] [one] two;", "one two", "<a> (line 3)", "<a> (line 3)"),
        ("public <a> = two [[one]];", "two", "<a> (line 3)", "<a> (line 3)"),
        ("public <a> = two (one*)*;", "two", "<a> (line 3)", "<a> (line 3)"),
        ("public <a> = one | <a>;", "one", "<a> (line 3)", "<a> (line 3)"),
        ("public <a> = one* one* two;", "one two", "<a> (line 3)", "<a> (line 3)"),
        # Round tens and a digit, by themselves or as one number: what a lot could run into.
        (
            "public <lot> = <part>+;\n<part> = <tens> <digit> | <tens> | <digit>;\n"
            "<tens> = twenty;\n<digit> = one;",
            "twenty one",
            "<part> (line 4)",
            "<part> (line 4)",
        ),
        ("public <a> = one;\npublic <answer> = one;", "one", "<a> (line 3)", "<answer> (line 4)"),
    ],
)
def test_two_readings_are_reported_with_an_example_and_the_rules(
    rules: str, sentence: str, one: str, other: str
) -> None:
    assert refusal(rules) == (
        f'test.jsgf: "{sentence}" has two readings, by {one} and by {other};'
        " take one out or change its words."
    )


def test_a_grammar_with_meaning_is_refused_when_loaded() -> None:
    with pytest.raises(GrammarError, match=r'"undo" has two readings, by <a> .* and by <b>'):
        grammar("public <command> = <a> | <b>;\n<a> = undo {command=undo};\n<b> = undo {command=extruding};")


_LEAVES = st.sampled_from(["x", "y"]).map(lambda word: Word(word, 1))


def _larger(parts: st.SearchStrategy[Expansion]) -> st.SearchStrategy[Expansion]:
    several = st.lists(parts, min_size=2, max_size=3).map(tuple)
    return (
        several.map(Sequence)
        | several.map(Alternatives)
        | parts.map(Optional)
        | parts.map(lambda item: Tagged(item, "+1", 1))
    )


EXPANSIONS: st.SearchStrategy[Expansion] = st.recursive(_LEAVES, _larger, max_leaves=7)


def derivations(item: Expansion) -> Counter[tuple[str, ...]]:
    """Number of derivations of each sentence, from the expansion itself."""
    match item:
        case Word(text):
            return Counter({(text,): 1})
        case Tagged(inner):
            return derivations(inner)
        case Optional(inner):
            return derivations(inner) + Counter({(): 1})
        case Alternatives(items):
            return sum((derivations(part) for part in items), Counter())
        case Sequence(items):
            total: Counter[tuple[str, ...]] = Counter({(): 1})
            for part in items:
                behind = derivations(part)
                before, total = total, Counter()
                for (head, n), (tail, m) in product(before.items(), behind.items()):
                    total[head + tail] += n * m
            return total
        case _:
            raise AssertionError(item)


@given(EXPANSIONS)
def test_against_counting_all_derivations(item: Expansion) -> None:
    body = Sequence((Word("z", 1), item))
    source = Source("any.jsgf", {"a": Rule("a", public=True, body=body, line=1, examples=())})
    automaton = build(source, {Asking.NOTHING: ["a"]})
    twice = {words for words, count in derivations(body).items() if count > 1}
    if not twice:
        check_one_way(automaton, "any.jsgf")
        return
    with pytest.raises(GrammarError) as caught:
        check_one_way(automaton, "any.jsgf")
    assert tuple(str(caught.value).split('"')[1].split()) in twice


@given(EXPANSIONS)
def test_graph_has_these_sentences_in_the_fewest_states(item: Expansion) -> None:
    body = Sequence((Word("z", 1), item))
    source = Source("any.jsgf", {"a": Rule("a", public=True, body=body, line=1, examples=())})
    graph = WordGraphs(build(source, {Asking.NOTHING: ["a"]})).of([Asking.NOTHING])
    language = set(derivations(body))
    assert {tuple(sentence.split()) for sentence in sentences(graph, 20)} == language
    # Myhill and Nerode: as many states as there are different sets of ways to go on.
    prefixes = {words[:length] for words in language for length in range(len(words) + 1)}
    ways_on = {
        frozenset(words[len(prefix) :] for words in language if words[: len(prefix)] == prefix)
        for prefix in prefixes
    }
    assert graph.n_states == len(ways_on)
    assert sorted(graph.source) == list(graph.source), "arcs are in the order of their states"


def test_graphs_of_cycles_are_minimal() -> None:
    # Any number of ones, two by two in one rule: two states are enough for "an even or odd number of them".
    graph = grammar("public <a> = one (one one)* | one one (one one)*;").graph(Asking.NOTHING)
    assert (graph.n_states, len(graph.word)) == (2, 2)
    assert arcs_of(graph) == [{"one": 1}, {"one": 1}]
    assert graph.final == {1}


def test_tails_are_shared() -> None:
    graph = grammar(
        "public <a> = <water> | <scrap>; <water> = water <n>; <scrap> = scrap <n>; <n> = (one | two) gram;"
    ).graph(Asking.NOTHING)
    assert arcs_of(graph) == [{"scrap": 1, "water": 1}, {"one": 2, "two": 2}, {"gram": 3}, {}]


def test_answers_may_be_said_only_while_a_question_is_open() -> None:
    rules = "public <command> = undo {command=undo};\npublic <answer> = yes {command=answer} {yes=true};"
    tested = grammar(rules)
    unasked = [Asking.NOTHING, Asking.CRUMB]
    assert [asking for asking in Asking if not accepts(tested.graph(asking), "yes")] == unasked
    assert all(accepts(tested.graph(asking), "undo") for asking in Asking)
    assert [asking for asking in Asking if accepts(tested.layer(asking), "undo")] == [Asking.NOTHING]
    assert tested.words == {"undo", "yes"}


def test_a_slot_may_have_the_words_of_another_and_of_a_command() -> None:
    tested = grammar(
        "public <command> = rest {command=rest} | mix {command=mix};\n"
        "public <given_timer> = (rest {name=rest} | one {name=1}) {command=given_timer};\n"
        "public <given_lot> = one {command=given_lot} {&1};"
    )
    assert tested.parse("rest") == Rest()
    assert tested.parse("rest", asking=Asking.TIMER) == GivenTimer("rest")
    assert tested.parse("rest", asking=Asking.LOT) == Rest()
    assert tested.parse("one", asking=Asking.TIMER) == GivenTimer("1")
    assert tested.parse("one", asking=Asking.LOT) == GivenLot("1")
    assert tested.parse("one") is None


@pytest.mark.parametrize(
    ("rules", "found"),
    [
        (
            "public <answer> = yes {command=answer} {yes=true} | yes {command=answer} {yes=false};",
            '"yes" has two readings, by <answer> (line 4) and by <answer> (line 4)',
        ),
        (
            "public <walk_move> = (next | undo) {command=walk_move} {move=next};",
            '"undo" has two readings, by <command> (line 3) and by <walk_move> (line 4)',
        ),
        (
            "public <given_timer> = one one {command=given_timer} {name=1} | one <b>;\n"
            "<b> = one {command=given_timer} {name=2};",
            '"one one" has two readings, by <given_timer> (line 4) and by <b> (line 5)',
        ),
        (
            "public <given_lot> = [one {&1}] {command=given_lot};",
            "a public rule can be met by saying nothing",
        ),
        (
            "public <given_lot> = one {command=given_lot};",
            '"one" means no command: given_lot is left without',
        ),
    ],
)
def test_every_start_is_checked(rules: str, found: str) -> None:
    with pytest.raises(GrammarError) as caught:
        grammar(f"public <command> = undo {{command=undo}};\n{rules}")
    assert found in str(caught.value)

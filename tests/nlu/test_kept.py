"""What a start keeps for the next: the same grammar, sooner; and as good as nothing where it is not whole."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from assistant.app.application import open_application
from assistant.config.home import Home
from assistant.config.language.own_words import OwnRow
from assistant.config.recipes import SHIPPED as SHIPPED_RECIPES
from assistant.config.resources import grammar_folder
from assistant.nlu.grammar import Grammar
from assistant.nlu.jsgf import parse_raw
from assistant.nlu.keeping.kept import MAGIC, Kept
from assistant.nlu.keeping.packed import PackedGraph, pack_graph, unpack_graph
from assistant.nlu.own import KitchenGrammar, Own, OwnName, load_kitchen_grammar, loading
from assistant.ports import Asking, WordGraph
from tests.nlu.test_commands import examples

SHIPPED = grammar_folder() / "commands.jsgf"
SMALL = """#JSGF V1.0 UTF-8 en;
grammar small;
public <water> = water {command=water} <VOID> {typed #};
/** @example yes */
public <answer> = yes {command=answer} {yes=true};
public <command> = undo {command=undo} | <topic> {command=ask};
<topic> = what next {topic=next} | status {topic=where};
"""
OWN = Own(
    names=(OwnName("timer", "ragu bolognese", "ragu bolognese", "settings.toml [timers] names"),),
    phrases=(
        OwnRow("that's her in {amount}", "water {amount}", "words.toml row 1"),
        OwnRow("undo", "help", "words.toml row 2"),
    ),
)


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The files whose rules were read, each time that they were."""
    found: list[str] = []

    def noted(file: str, raw: bytes) -> object:
        found.append(file)
        return parse_raw(file, raw)

    monkeypatch.setattr(loading, "parse_raw", noted)
    yield found
    start_anew()


def start_anew() -> None:
    """Forget what this process has read: as a new one would be."""
    loading._kitchen_grammar_of.cache_clear()


def load(path: Path, folder: Path, own: Own = OWN) -> KitchenGrammar:
    start_anew()
    return load_kitchen_grammar(path, own, folder)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    file = tmp_path / "small.jsgf"
    file.write_text(SMALL)
    return file


def test_the_next_start_reads_no_rules_and_has_the_same(tmp_path: Path, built: list[str]) -> None:
    first, second = load(SHIPPED, tmp_path), load(SHIPPED, tmp_path)
    assert built == ["commands.jsgf"]
    assert replace(first, grammar=second.grammar) == second
    assert second.problems
    assert second.grammar.packed() == first.grammar.packed()
    for row in examples()[::20]:
        meant = first.grammar.steps(row.sentence, asking=Asking.AMOUNT)
        assert second.grammar.steps(row.sentence, asking=Asking.AMOUNT) == meant
    said = "that's her in one fifty"
    assert second.grammar.parse(said) == first.grammar.parse(said)
    assert second.grammar.parse(said) is not None
    assert built == ["commands.jsgf"]


def test_a_home_that_was_moved_has_the_same_words(tmp_path: Path, built: list[str]) -> None:
    recipe = (SHIPPED_RECIPES / "plain.toml").read_text().replace('"plain"', '"nettle"')
    for home in (tmp_path / "old", tmp_path / "new"):
        (home / "recipes").mkdir(parents=True)
        (home / "recipes" / "nettle.toml").write_text(recipe)
        start_anew()
        app = open_application(Home.find(home), tmp_path / "kept")
        assert app.grammar.parse("recipe nettle") is not None
    assert len(built) == 1


def test_graphs_are_kept_too(small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = load(small, tmp_path / "kept", Own()).grammar
    graphs = [first.listened(asking) for asking in Asking] + [first.graph_of("command")]
    second = load(small, tmp_path / "kept", Own()).grammar
    monkeypatch.setattr("assistant.nlu.graph._determine", None)
    again = [second.listened(asking) for asking in Asking] + [second.graph_of("command")]
    assert list(map(parts, again)) == list(map(parts, graphs))
    assert second.graph_of("lacking") is None


def parts(graph: WordGraph | None) -> tuple[object, ...]:
    assert graph is not None
    return graph.n_states, graph.source, graph.target, graph.word, graph.final, graph.asked_start


@pytest.mark.parametrize(
    "spoil",
    [
        lambda raw: raw[:0],
        lambda raw: raw[:-1],
        lambda raw: raw[: len(MAGIC) + 10],
        lambda raw: raw[:-9] + bytes([raw[-9] ^ 1]) + raw[-8:],
        lambda raw: b"\x80\x04" + raw,
        lambda raw: raw.replace(MAGIC, b"x" * len(MAGIC)),
    ],
    ids=["empty", "cut", "head alone", "one bit", "foreign", "other magic"],
)
def test_what_is_not_whole_is_made_anew_and_written(
    small: Path, tmp_path: Path, built: list[str], spoil: object
) -> None:
    folder = tmp_path / "kept"
    load(small, folder, Own())
    whole = (folder / "grammar").read_bytes()
    assert callable(spoil)
    (folder / "grammar").write_bytes(spoil(whole))
    assert load(small, folder, Own()).grammar.parse("undo") is not None
    assert built == ["small.jsgf"] * 2
    assert (folder / "grammar").read_bytes() == whole


def test_another_grammar_other_words_and_another_program_are_not_taken_for_it(
    small: Path, tmp_path: Path, built: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "kept"
    load(small, folder, Own())
    load(small, folder, Own(names=(OwnName("timer", "ragu", "ragu", "here"),)))
    small.write_text(SMALL.replace("undo {", "undone {"))
    assert load(small, folder, Own()).grammar.parse("undone") is not None
    monkeypatch.setattr("assistant.nlu.keeping.kept.code_that_reads_it", lambda: b"another")
    load(small, folder, Own())
    assert built == ["small.jsgf"] * 4


def test_bytes_that_lead_nowhere_are_refused_though_their_digest_is_right(
    small: Path, tmp_path: Path, built: list[str]
) -> None:
    folder = tmp_path / "kept"
    load(small, folder, Own())
    kept = Kept.of(folder, b"small.jsgf", small.read_bytes(), repr(Own()).encode())
    assert kept is not None
    data = kept.read("grammar")
    assert data is not None
    found = msgspec.msgpack.decode(data, type=loading._PackedKitchen)
    automaton = found.grammar.automaton
    for spoiled in (
        msgspec.structs.replace(automaton, talk=10_000),
        msgspec.structs.replace(automaton, target=automaton.target[:-4] + b"\xff\xff\0\0"),
        msgspec.structs.replace(automaton, typed=automaton.typed + b"\0"),
        msgspec.structs.replace(automaton, labels=automaton.labels[:1]),
        msgspec.structs.replace(automaton, start={"NOTHING": 0}),
        msgspec.structs.replace(automaton, final_tags=b""),
    ):
        grammar = msgspec.structs.replace(found.grammar, automaton=spoiled)
        kept.write("grammar", msgspec.msgpack.encode(msgspec.structs.replace(found, grammar=grammar)))
        assert load(small, folder, Own()).grammar.parse("undo") is not None
    assert built == ["small.jsgf"] * 7
    kept.write("grammar", b"\xc1 no message")
    load(small, folder, Own())
    assert len(built) == 8


@pytest.mark.parametrize(
    "spoiled",
    [
        {"target": b"\xff\0\0\0"},
        {"word": b"\1\0\0\0"},
        {"final": b"\7\0\0\0"},
        {"asked_start": 3},
        {"source": b"\0"},
    ],
    ids=lambda value: next(iter(value)),
)
def test_so_is_a_graph(spoiled: dict[str, object]) -> None:
    packed = pack_graph(WordGraph(2, (0,), (1,), ("undo",), frozenset([1])))
    assert unpack_graph(packed).word == ("undo",)
    found = msgspec.structs.replace(msgspec.msgpack.decode(packed, type=PackedGraph), **spoiled)
    with pytest.raises(ValueError, match=r"\w"):
        unpack_graph(msgspec.msgpack.encode(found))


@pytest.mark.parametrize("there", ["a file", "a folder in its place"])
def test_where_it_can_not_be_written_it_is_made_each_time(
    small: Path, tmp_path: Path, built: list[str], there: str
) -> None:
    folder = tmp_path / "kept"
    if there == "a file":
        folder.write_text("no folder")
    else:
        (folder / "grammar").mkdir(parents=True)
    for _ in range(2):
        assert load(small, folder, Own()).grammar.parse("undo") is not None
    assert built == ["small.jsgf"] * 2
    assert sorted(path.name for path in tmp_path.rglob("grammar.*")) == []


def test_code_that_can_not_be_read_keeps_nothing(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.nlu.keeping.kept.code_that_reads_it", lambda: b"")
    assert load(small, tmp_path / "kept", Own()).grammar.parse("undo") is not None
    assert not (tmp_path / "kept").exists()
    start_anew()


def test_a_grammar_is_kept_only_where_it_is_asked_to_be(small: Path, tmp_path: Path) -> None:
    start_anew()
    grammar = load_kitchen_grammar(small, Own()).grammar
    assert isinstance(grammar, Grammar)
    grammar.listened(Asking.NOTHING)
    assert list(tmp_path.iterdir()) == [small]

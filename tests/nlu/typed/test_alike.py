"""What was typed is compared with other ways to say it; its numbers and names take the place of theirs."""

from functools import cache
from pathlib import Path

import pytest

from assistant.batch.record.commands import Incomplete
from assistant.config.resources import grammar_folder
from assistant.errors import GrammarError
from assistant.nlu import Grammar, load_grammar
from assistant.nlu.tokens import tokens
from assistant.nlu.typed import TALK, Numbers, Paraphrase, read_paraphrases
from assistant.nlu.typed.spans import one_thing
from assistant.ports import Asking

WAYS = (
    Paraphrase("jug's empty now", "poured the rest"),
    Paraphrase("drizzled another fifty grams over it", "fifty more"),
    Paraphrase("prod me in ten minutes", "set a timer for ten minutes"),
    Paraphrase("keep an eye on my sauce ten minutes", "timer sauce ten minutes"),
    Paraphrase("crumb does not hold together", "crumb dry"),
    Paraphrase("start another dough", "new batch"),
    Paraphrase("batch of two kilos to begin with", "new batch two kilos"),
    Paraphrase("the radio is too loud", TALK),
)


@cache
def grammar() -> Grammar:
    """The one that ships, with ways of this test alone; not the one that others share."""
    found = Grammar(load_grammar(grammar_folder() / "commands.jsgf").source, checked=False)
    found.also_said(WAYS)
    return found


def meant(line: str, asking: Asking = Asking.NOTHING) -> str | None:
    near = grammar().mended(line, asking=asking)
    return None if near is None else near.sentence


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("jug's empty", "poured the rest"),
        ("and the jug's empty now", "poured the rest"),
        ("drizzled another thirty grams over it", "thirty grams more"),
        ("drizzled another 35g over it", "35 g more"),
        ("drizzled another sixty over it", "sixty more"),
        ("prod me in a quarter of an hour", "set a timer for a quarter of an hour"),
        ("prod me in twenty", "set a timer for twenty minutes"),
        ("keep an eye on my pasta nine minutes", "timer pasta nine minutes"),
        ("another dough start", "new batch"),
        ("batch of a kilo and a half to begin with", "new batch a kilo and a half"),
        ("the crumb does not hold together at all", "crumb dry"),
    ],
)
def test_the_nearest_way_with_the_numbers_and_names_of_the_line(line: str, sentence: str) -> None:
    assert meant(line) == sentence


@pytest.mark.parametrize(
    "line",
    [
        "jug's not empty",
        "the jug is never empty now",
        "the crumb does hold together",
        "if the jug's empty now",
        "prod me in ten minutes or twenty minutes",
        "prod the boss about a rise",
        "the radio is too loud",
        "the radio is too loud for ten minutes",
        "keep an eye on my children",
        "anything else entirely",
    ],
)
def test_what_says_otherwise_or_names_other_things_is_like_none(line: str) -> None:
    assert meant(line) is None


def test_how_much_was_changed_is_told() -> None:
    found = [grammar().mended(line) for line in ("jug's empty now", "the crumb dry now")]
    assert [one.changes if one else None for one in found] == ["alike", "few"]


def test_a_sentence_without_its_number_is_found_where_the_line_has_none() -> None:
    near = grammar().mended("start another dough please")
    assert near is not None
    assert isinstance(near.command, Incomplete)


class TestNumbers:
    """Numbers of a line, with their units."""

    def parts(self, line: str) -> list[tuple[str, str]]:
        used = grammar()
        numbers = Numbers(used._fits, used.number_words, used._units)
        return [(one.kind, " ".join(one.words)) for one in numbers.parts(tokens(line)) if one.is_number]

    @pytest.mark.parametrize(
        ("line", "found"),
        [
            ("put one hundred and fifty grams in it", [("#g", "one hundred and fifty grams")]),
            ("a kilo and a half please", [("#g", "a kilo and a half")]),
            ("kilo and a half of semolina", [("#g", "kilo and a half")]),
            ("hundred and eighty mils", [("#g", "hundred and eighty mils")]),
            ("1.5 kg then 300", [("#g", "1.5 kg"), ("#", "300")]),
            ("half a minute more", [("#s", "half a minute")]),
            ("thirty two and a half percent", [("#%", "thirty two and a half percent")]),
            ("sixteen portions out of it", [("#", "sixteen")]),
            ("a bit of a mess", []),
        ],
    )
    def test_they_are_found_whole(self, line: str, found: list[tuple[str, str]]) -> None:
        assert self.parts(line) == found

    def test_one_alone_may_be_a_thing(self) -> None:
        used = grammar()
        numbers = Numbers(used._fits, used.number_words, used._units)
        parts = one_thing(numbers.parts(tokens("a new one for twenty one minutes")))
        assert [one.kind for one in parts if one.kind in ("one", "#s")] == ["one", "#s"]


class TestFile:
    """The list that ships, and one that can't be read."""

    def test_each_line_says_what_the_grammar_says(self) -> None:
        shipped = load_grammar(grammar_folder() / "commands.jsgf")
        for way in read_paraphrases(grammar_folder() / "paraphrases.txt"):
            known = shipped.parse(way.said)
            if way.said == way.means:
                assert shipped.parse(way.said, asking=Asking.ANSWER), (
                    f"{way.said}: write behind => what it means"
                )
            elif way.means == TALK:
                assert known is None, f"{way.said}: means {known}"
            else:
                assert known is None, f"{way.said}: means {known} by itself"
                assert shipped.parse(way.means, asking=Asking.ANSWER) is not None, f"{way.means}: no sentence"

    def test_none_stands_twice(self) -> None:
        said = [way.said for way in read_paraphrases(grammar_folder() / "paraphrases.txt")]
        assert sorted(said) == sorted(set(said))

    def test_comments_and_empty_lines_count_for_nothing(self, tmp_path: Path) -> None:
        file = tmp_path / "ways.txt"
        file.write_text(
            "# one\n\n  mix  \n  get it going =>  mix \nmind your back => talk\n", encoding="utf-8"
        )
        assert read_paraphrases(file) == (
            Paraphrase("mix", "mix"),
            Paraphrase("get it going", "mix"),
            Paraphrase("mind your back", TALK),
        )

    def test_another_encoding_is_one_line(self, tmp_path: Path) -> None:
        file = tmp_path / "ways.txt"
        file.write_bytes(b"caff\xe8 => talk\n")
        with pytest.raises(GrammarError, match=r"^ways\.txt: it can't be read as UTF-8 text"):
            read_paraphrases(file)

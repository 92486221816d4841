"""`words.toml`: read row by row, what is wrong is told in one line; written without touching the rest."""

# ruff: noqa: RUF001 - the letters of the IPA

from pathlib import Path

import pytest

from assistant.asr.network import PhonemeNetwork
from assistant.asr.phones import PHONES
from assistant.config.language.own_words import MOST_ROWS, checked_sounds, plain, read_own_words
from assistant.config.language.words_file import with_rows, without_row, write_words
from assistant.errors import SettingsError


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "words.toml"


def read(file: Path, text: str) -> tuple[list[tuple[str, str]], list[str]]:
    """Rows as said and meant, and problems without the path of the file."""
    file.write_text(text, encoding="utf-8")
    words = read_own_words(file)
    rows = [(row.said, row.means) for row in (*words.phrases, *words.names)]
    return rows, [problem.replace(str(file), "words.toml") for problem in words.problems]


def test_no_file_is_no_words(file: Path) -> None:
    words = read_own_words(file)
    assert (words.phrases, words.names, dict(words.sounds), words.problems) == ((), (), {}, ())


def test_rows_are_compared_in_small_letters_composed_accents_and_single_spaces(file: Path) -> None:
    rows, problems = read(
        file, '[phrases]\n"That\u2019s  Her In" = \'Water\'\n[names]\n"cre\u0300me" = "Timer"\n'
    )
    assert rows == [("that's her in", "water"), ("crème", "timer")]
    assert problems == []


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("[phrase]\n", "words.toml: there is no section [phrase]; did you mean phrases?"),
        ("phrases = 3\n", "words.toml: phrases = 3 is not a section; write [phrases] above its lines."),
        (
            "[phrases]\n\n'a b' = 5\n",
            'words.toml, line 3: "a b": means 5, allowed is text in quotes, not empty; change or remove it.',
        ),
        (
            '[names]\n"a" = " "\n',
            'words.toml, line 2: "a": means " ", allowed is text in quotes, not empty; change or remove it.',
        ),
        (
            '[phrases]\nsplosh = "water"\n"Splosh" = "undo"\n',
            'words.toml, line 3: "Splosh": is there twice, '
            'first at words.toml, line 2: "splosh"; remove one.',
        ),
        (
            "[sounds]\nragu = 3\n",
            'words.toml, line 2: "ragu": sounds 3, allowed is a list of pronunciations, '
            'like ["w ʌ n"]; change it.',
        ),
        (
            "[phrases\n",
            "words.toml is not TOML: Expected ']' at the end of a table declaration (at line 1, column 9); "
            "mend it, or move it away.",
        ),
    ],
)
def test_what_is_wrong_is_one_line_and_the_rest_counts(file: Path, text: str, problem: str) -> None:
    _, problems = read(file, text)
    assert problems == [problem]
    if "is not TOML" not in problem:
        rows, problems = read(file, text.replace("[phrases]\n", "[phrases]\nleft = 'undo'\n", 1))
        assert len(problems) == 1
        assert ("left", "undo") in rows or "[phrases]" not in text


def test_a_file_that_is_no_text_is_told(file: Path) -> None:
    file.write_bytes(b"\xff\xfe\x00")
    [problem] = read_own_words(file).problems
    assert problem == f"{file} is not UTF-8 text (byte 0); save it as UTF-8."


def test_more_rows_than_are_taken_in_are_told(file: Path) -> None:
    lines = "".join(f'"row {"x" * n}" = "undo"\n' for n in range(1, MOST_ROWS + 3))
    rows, problems = read(file, "[phrases]\n" + lines)
    assert len(rows) == MOST_ROWS
    assert len(problems) == 2


def test_a_pronunciation_may_stand_alone_and_has_phones_of_english(file: Path) -> None:
    file.write_text('[sounds]\nragu = "ɹ æ g u"\n"crème" = ["k ɹ ɛ m", "k  ɹ i m"]\n', encoding="utf-8")
    assert dict(read_own_words(file).sounds) == {"ragu": ("ɹ æ g u",), "crème": ("k ɹ ɛ m", "k ɹ i m")}
    assert set(PhonemeNetwork().symbols) >= PHONES
    with pytest.raises(SettingsError, match=r'^has the phone "q", allowed are a b d'):
        checked_sounds(["q"])


WRITTEN = """# ours, since March
[phrases]  # how Ines says it
"chuck in {amount}" = "water {amount}"   # mind the jug

[names]
"the red bag" = "lot R12"
ragu = "timer"

[sounds]
ragu = ["ɹ æ g u"]
red = ["ɹ ɛ d"]
"""


def test_a_row_is_added_and_all_else_stays(file: Path) -> None:
    file.write_text(WRITTEN, encoding="utf-8")
    text = with_rows(file, [("phrases", "splosh", "water"), ("sounds", "splosh", ("s p l ɑ ʃ",))])
    added = {'splosh = "water"', 'splosh = ["s p l ɑ ʃ"]'}
    assert [line for line in text.splitlines() if line not in added] == WRITTEN.splitlines()
    assert added <= set(text.splitlines())


def test_a_row_with_the_same_words_is_replaced(file: Path) -> None:
    file.write_text(WRITTEN, encoding="utf-8")
    text = with_rows(file, [("phrases", plain("Chuck in  {amount}"), "flour added {amount}")])
    assert text == WRITTEN.replace('"water {amount}"', '"flour added {amount}"')


def test_a_row_goes_with_the_sounds_that_only_it_needs(file: Path) -> None:
    file.write_text(WRITTEN, encoding="utf-8")
    assert without_row(file, "ragu") == WRITTEN.replace('ragu = "timer"\n', "").replace(
        'ragu = ["ɹ æ g u"]\n', ""
    )
    assert without_row(file, "chuck in") is None
    assert without_row(file, "red") is None, "a pronunciation is not a row"


def test_a_first_row_makes_the_file(file: Path) -> None:
    write_words(file, with_rows(file, [("names", "ragu", "timer")]))
    assert [(row.said, row.means) for row in read_own_words(file).names] == [("ragu", "timer")]
    assert file.read_text(encoding="utf-8").startswith("# The kitchen's own words.")
    assert [one.name for one in file.parent.iterdir()] == ["words.toml"], "nothing is left beside it"


def test_what_can_not_be_written_leaves_the_file_as_it_was(file: Path) -> None:
    file.mkdir()
    with pytest.raises(SettingsError, match="can't be written"):
        write_words(file, "[phrases]\n")
    assert [one.name for one in file.parent.iterdir()] == ["words.toml"]


@pytest.mark.parametrize("text", ["[phrases\n", "phrases = 3\n"])
def test_a_broken_file_is_not_written_to(file: Path, text: str) -> None:
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=r"words\.toml"):
        with_rows(file, [("phrases", "splosh", "water")])

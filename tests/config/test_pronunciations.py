"""Pronunciations as a kitchen writes them, and every way to write them wrong."""

from pathlib import Path

import pytest

from assistant.config.language.pronunciations import read_pronunciations
from assistant.errors import GrammarError


def test_both_tables_and_those_of_the_fine_tuning_are_read(tmp_path: Path) -> None:
    file, beside = tmp_path / "pronunciations.toml", tmp_path / "weights.toml"
    file.write_text('[words]\nmix = ["m"]\n[own]\ncook = ["m", "k"]\n', encoding="utf-8")
    beside.write_text('[words]\nmix = ["k"]\n', encoding="utf-8")

    found = read_pronunciations(file, beside)

    assert list(found.in_order()) == [
        (file, "mix", ["m"]),
        (beside, "mix", ["k"]),
        (file, "cook", ["m", "k"]),
    ]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            '[words]\nmix = "m"',
            ': [words] mix = "m", allowed is a list of pronunciations, like ["w ʌ n"]; change it.',
        ),
        (
            "[words]\nmix = []",
            ': [words] mix = [], allowed is a list of pronunciations, like ["w ʌ n"]; change it.',
        ),
        (
            "[own]\nmix = [1]",
            ': [own] mix = [1], allowed is a list of pronunciations, like ["w ʌ n"]; change it.',
        ),
        ("words = 3", ": words = 3 is not a section; write [words] on a line of its own, its keys below."),
        ("[word]", ": there is no section [word]; did you mean words? Write that, or remove it."),
        (
            "[words",
            " is not TOML: Expected ']' at the end of a table declaration (at end of document); mend it, "
            "or move it away.",
        ),
    ],
)
def test_what_is_wrong_in_the_file_is_refused_in_one_line(tmp_path: Path, text: str, line: str) -> None:
    path = tmp_path / "pronunciations.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(GrammarError) as caught:
        read_pronunciations(path)
    assert str(caught.value) == f"{path}{line}"


def test_a_missing_file_is_reported(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match=r"can't be read \(No such file or directory\); make it"):
        read_pronunciations(tmp_path / "gone.toml")

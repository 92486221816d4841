"""Names that a language says in its own words."""

from pathlib import Path

import pytest

from assistant.errors import GrammarError
from assistant.nlg.names import read_names


def test_a_later_file_counts_and_one_that_is_missing_says_nothing(tmp_path: Path) -> None:
    first, second = tmp_path / "first.toml", tmp_path / "second.toml"
    first.write_text('egg = "all\'uovo"\nsauce = "sugo"\n', encoding="utf-8")
    second.write_text('sauce = "salsa"\n', encoding="utf-8")
    assert read_names([first, tmp_path / "none.toml", second]) == {"egg": "all'uovo", "sauce": "salsa"}


@pytest.mark.parametrize("value", ["3", '" "', '["a"]', "{a = 1}"])
def test_a_name_is_text(tmp_path: Path, value: str) -> None:
    file = tmp_path / "names.toml"
    file.write_text(f"egg = {value}\n", encoding="utf-8")
    with pytest.raises(
        GrammarError, match=r"names\.toml: egg = .*, allowed is text in quotes, not empty; change it\.$"
    ):
        read_names([file])


@pytest.mark.parametrize("content", [b"egg = ", b"egg = '\xff'"])
def test_a_file_that_can_not_be_read_is_one_line(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "names.toml"
    file.write_bytes(content)
    with pytest.raises(
        GrammarError,
        match=r"names\.toml is not (TOML: .*; mend it, or move it away|UTF-8 text .*; save it as UTF-8)\.$",
    ):
        read_names([file])


def test_a_folder_is_not_a_file(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match=r"can't be read \(Is a directory\)"):
        read_names([tmp_path])

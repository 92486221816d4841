"""One setting says who cooks; those that there were before it are read, and it is said where they went."""

from pathlib import Path

import pytest

from assistant.config.settings import Settings, moved_in
from assistant.errors import SettingsError


@pytest.mark.parametrize(
    ("written", "cook"),
    [
        ('[station]\ncook = "Ada"', "Ada"),
        ('[batch]\ncook = "AB"', "AB"),
        ('[recogniser]\ncook = "Ada"', "Ada"),
        ('[batch]\ncook = "AB"\n[recogniser]\ncook = "Ada"', "AB"),
        ('[batch]\ncook = ""\n[recogniser]\ncook = "Ada"', "Ada"),
        ('[station]\ncook = "Cy"\n[batch]\ncook = "AB"', "Cy"),
        ('[station]\nid = "two"\n[batch]\ncook = "AB"', "AB"),
        ('[recogniser]\ncook = ""', ""),
        ("", "Bo"),
    ],
)
def test_who_cooks_is_read_wherever_it_was_written(tmp_path: Path, written: str, cook: str) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(written, encoding="utf-8")
    # As the last release's hearing test wrote it.
    (tmp_path / "hearing.toml").write_text('[recogniser]\nact_above = 0.9\ncook = "Bo"\n', encoding="utf-8")
    settings = Settings.load(file)
    assert (settings.station.cook, settings.rules.cook) == (cook, cook)
    assert settings.recogniser.act_above == 0.9


def test_what_can_t_be_used_is_refused_where_it_stands_today(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text("[batch]\ncook = 3\n", encoding="utf-8")
    with pytest.raises(SettingsError, match=r"\[station\] cook = 3"):
        Settings.load(tmp_path / "settings.toml")


def test_where_a_setting_went_is_said_in_one_line(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('[batch]\ncook = "AB"\n[station]\nid = "two"\n', encoding="utf-8")
    [line] = moved_in(file)
    assert "[batch] cook is [station] cook now" in line
    file.write_text('[station]\ncook = "AB"\n', encoding="utf-8")
    assert moved_in(file) == []
    assert moved_in(tmp_path / "none.toml") == []

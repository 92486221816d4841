"""How a cook says the phones, kept in a file: written whole, read as it was, refused when it is damaged."""

from pathlib import Path

import pytest

from assistant.app.cooks_voice import cooks_voice
from assistant.asr.network import digest
from assistant.config.hearing_file import cook_file, forget_cook, known_cooks, read_cook, write_cook
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.errors import SettingsError

COOK = {digest("kitchen"): {"θ": {"s": 0.12, "t": 0.034}, "\u0325": {"_": 0.5}}, digest("packaged"): {}}
NAMES = ["Ada", "José O'Neill", "../../etc/passwd", "a/b", "..", 'x "y"', "草"]


@pytest.mark.parametrize("name", NAMES)
def test_any_name_makes_a_file_of_its_own_in_the_home(name: str, tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    file = cook_file(settings, name)
    write_cook(file, COOK, 'two\nlines "quoted"')
    assert file.parent == tmp_path / "cooks"
    assert known_cooks(settings) == [name]
    assert read_cook(file) == COOK
    assert [one.name for one in file.parent.iterdir()] == [file.name]
    forget_cook(file)
    forget_cook(file)
    assert (known_cooks(settings), read_cook(file)) == ([], {})


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text.replace(b"0.12", b"0.13"),
        lambda text: text[:-20],
        lambda text: text[:0],
        lambda text: text + b"\xff",
        lambda text: text.split(b"\n", 1)[1],
    ],
)
def test_a_damaged_file_is_one_clear_line_and_the_cook_is_heard_as_anybody(
    damage: object, tmp_path: Path
) -> None:
    assert callable(damage)
    home, settings = Home(tmp_path, tmp_path), Settings.load(tmp_path / "settings.toml")
    file = cook_file(home.settings_file, "Ada")
    write_cook(file, COOK, "remark")
    assert cooks_voice(home, settings, "Ada").cook == COOK
    file.write_bytes(damage(file.read_bytes()))
    found = cooks_voice(home, settings, "Ada")
    assert found.cook == {}
    assert len(found.problem.splitlines()) == 1
    assert str(file) in found.problem
    assert "hearing-test" in found.problem


def test_what_was_learned_with_other_weights_is_not_used(tmp_path: Path) -> None:
    home, settings = Home(tmp_path, tmp_path), Settings.load(tmp_path / "settings.toml")
    write_cook(cook_file(home.settings_file, "Ada"), {"0" * 64: {}}, "remark")
    found = cooks_voice(home, settings, "Ada")
    assert found.cook == {}
    assert "other weights" in found.problem


def test_nobody_is_listened_for_unless_the_settings_say_so(tmp_path: Path) -> None:
    home = Home(tmp_path, tmp_path)
    write_cook(cook_file(home.settings_file, "Ada"), COOK, "remark")
    assert cooks_voice(home, Settings.load(home.settings_file)).cook == {}
    home.settings_file.write_text('[recogniser]\ncook = "Ada"\n', encoding="utf-8")
    assert cooks_voice(home, Settings.load(home.settings_file)).cook == COOK
    home.settings_file.write_text('[recogniser]\ncook = "Bo"\n', encoding="utf-8")
    found = cooks_voice(home, Settings.load(home.settings_file))
    assert (found.cook, found.problem) == ({}, "")


def test_what_cannot_be_written_is_one_line_and_leaves_what_was_there(tmp_path: Path) -> None:
    file = tmp_path / "cooks" / "Ada.toml"
    file.mkdir(parents=True)
    with pytest.raises(SettingsError, match=r"can't be written"):
        write_cook(file, COOK, "remark")
    assert [one.name for one in file.parent.iterdir()] == ["Ada.toml"]

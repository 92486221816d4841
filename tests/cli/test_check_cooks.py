"""What `crumbcall check` says of the cooks whose voice is kept."""

from pathlib import Path

from assistant.app.application import open_application
from assistant.asr.network import digest
from assistant.cli.check.command import cooks_of
from assistant.config.hearing_file import cook_file, write_cook
from assistant.config.home import Home

COOK = {digest("kitchen"): {"θ": {"s": 0.12}}, digest("packaged"): {}}


def test_each_cook_is_listed_and_who_is_listened_for(tmp_path: Path) -> None:
    home = Home(tmp_path, tmp_path)
    assert cooks_of(open_application(home)) == []
    for name in ("Ada", "Bo", "Cy"):
        write_cook(cook_file(home.settings_file, name), COOK, "remark")
    spoilt = cook_file(home.settings_file, "Cy")
    spoilt.write_text(spoilt.read_text(encoding="utf-8").replace("0.12", "0.21"), encoding="utf-8")
    home.settings_file.write_text('[station]\ncook = "Bo"\n', encoding="utf-8")
    found = {one.part: one for one in cooks_of(open_application(home))}
    assert list(found) == ["voice of Ada", "voice of Bo", "voice of Cy"]
    assert found["voice of Bo"].found == "listened for"
    assert "[station] cook" in found["voice of Ada"].found
    assert not found["voice of Cy"].works
    assert "damaged" in found["voice of Cy"].found


def test_a_cook_who_is_named_and_not_kept_is_heard_as_anybody(tmp_path: Path) -> None:
    home = Home(tmp_path, tmp_path)
    home.settings_file.write_text('[station]\ncook = "Ada"\n', encoding="utf-8")
    [one] = cooks_of(open_application(home))
    assert (one.works, one.found) == (True, "heard as anybody's")

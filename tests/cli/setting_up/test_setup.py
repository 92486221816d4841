"""The conversation that sets a station up, with typed answers and sound devices that a script plays."""

import tomllib
from pathlib import Path

import click
import pytest

from assistant.app.setting_up.sound_trial import RealDevices, first_that_works
from assistant.audio.sound_cards import Device, Direction
from assistant.cli.setting_up import command, steps
from assistant.cli.setting_up.command import choose_sound, converse
from assistant.cli.setting_up.steps import STEPS, Bench
from assistant.config.home import Home
from assistant.config.language.settings_writer import keep_setting
from assistant.config.pantry import Pantry
from assistant.config.recipes import Recipes
from assistant.config.settings import Settings
from assistant.errors import SettingsError, SoundError
from tests.cli.conftest import Run


class FakeDevices:
    """Sound devices by name; what is named in `broken` raises."""

    def __init__(self, microphones: list[str], speakers: list[str], broken: tuple[str, ...] = ()) -> None:
        self.there = {"input": microphones, "output": speakers}
        self.broken = broken
        self.tried: list[str] = []

    def names(self, direction: Direction) -> list[str]:
        return self.there[direction]

    def level_dbfs(self, name: str) -> float:
        self._try(name)
        return -20.0

    def ring(self, name: str) -> None:
        self._try(name)

    def _try(self, name: str) -> None:
        self.tried.append(name)
        if name in self.broken:
            raise SoundError(f"{name} does not open.")


@pytest.fixture
def sound(monkeypatch: pytest.MonkeyPatch) -> FakeDevices:
    """A webcam that sends nothing, a headset, a loudspeaker."""
    fake = FakeDevices(["Webcam", "Headset"], ["Headset", "Box"], broken=("Webcam",))
    monkeypatch.setattr(command, "RealDevices", lambda _: fake)
    return fake


def settings(tmp_path: Path) -> Settings:
    return Settings.load(tmp_path / "home/settings.toml")


def test_every_step_can_be_answered(run: Run, tmp_path: Path, sound: FakeDevices) -> None:
    card = tmp_path / "card.pdf"
    lines = ["Hotel 2", "it", "2.5 kg", "", "2", "2", "y", "1", "skip", str(card)]
    ran = run("setup", lines=lines)
    assert (ran.status, ran.err) == (0, "")
    now = settings(tmp_path)
    assert (now.station.id, now.station.language, now.batch.hopper_g) == ("Hotel 2", "it", 2500)
    assert (now.microphone.device, now.speaker.device, now.scale.chip) == ("Headset", "Box", "none")
    assert sound.tried == ["Headset", "Box"]
    assert card.read_bytes().startswith(b"%PDF")
    assert "Hearing test" in ran.out
    assert "Skipped." in ran.out
    assert ran.out.splitlines()[-1].startswith(f"Kept in {tmp_path / 'home/settings.toml'}.")


def test_enter_leaves_everything_as_it_is(run: Run, tmp_path: Path) -> None:
    ran = run("setup", "house", "language", "hopper", "recipes", lines=["", "", "", ""])
    assert ran.status == 0
    assert not (tmp_path / "home").exists() or not [*(tmp_path / "home").glob("*.toml")]


def test_what_ends_it_loses_nothing_and_it_goes_on_later(run: Run, tmp_path: Path) -> None:
    ran = run("setup", lines=["Hotel 2"])  # the input ends at the second question
    assert ran.status == 0
    told = f"Ended. What you answered is in {tmp_path / 'home/settings.toml'}; go on with: crumbcall setup"
    assert ran.out.splitlines()[-1] == told
    assert settings(tmp_path).station.id == "Hotel 2"
    assert "[Hotel 2]" in run("setup", "house", lines=["skip"]).out


def test_ctrl_c_at_a_question_loses_nothing(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = iter(["Hotel 2"])

    def typed(*_: object, **__: object) -> str:
        for said in asked:
            return said
        raise click.Abort  # what click makes of Ctrl-C

    monkeypatch.setattr(click, "prompt", typed)
    assert run("setup").out.splitlines()[-1].startswith("Ended.")
    assert settings(tmp_path).station.id == "Hotel 2"


def test_what_can_not_be_used_is_told_and_asked_again(run: Run, tmp_path: Path) -> None:
    ran = run("setup", "house", "language", "hopper", lines=["ü!", "Hotel", "9", "1", "a bucket", "4000"])
    assert '[station] id = "ü!", allowed is 1 to 40 letters, digits, spaces, - or _' in ran.out
    assert "Found '9', allowed is a number from 1 to 2; type one." in ran.out
    assert "'a bucket'" in ran.out
    assert (settings(tmp_path).station.id, settings(tmp_path).batch.hopper_g) == ("Hotel", 4000)


@pytest.mark.usefixtures("sound")
def test_a_device_that_does_not_work_is_told_and_another_chosen(run: Run, tmp_path: Path) -> None:
    ran = run("setup", "microphone", "speaker", lines=["Webcam", "Headset", "1", "n", "2", "y"])
    assert "  Webcam does not open." in ran.out
    assert "  Not heard; turn it up, check its plug, or choose another." in ran.out
    assert (settings(tmp_path).microphone.device, settings(tmp_path).speaker.device) == ("Headset", "Box")


def test_without_a_device_the_step_is_left_for_later(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(command, "RealDevices", lambda _: FakeDevices([], []))
    ran = run("setup", "microphone", "house", lines=["Hotel"])
    assert (
        "There is no microphone on this machine; plug one in and run: crumbcall setup microphone" in ran.out
    )
    assert ran.out.splitlines()[-1] == "Not yet: microphone."
    assert settings(tmp_path).station.id == "Hotel"


def test_the_scale_is_calibrated_as_by_its_own_command(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[float] = []

    @click.command()
    @click.option("--mass-g", type=float)
    @click.option("--note")
    def calibrate(mass_g: float, note: str) -> None:
        assert note == ""
        taken.append(mass_g)

    monkeypatch.setattr(steps, "calibrate_command", calibrate)
    run("setup", "scale", lines=["nau7802", "50", "1.8 kg"])
    assert taken == [1800]
    assert settings(tmp_path).scale.chip == "nau7802"


def test_a_scale_that_does_not_answer_is_told_and_left_for_later(run: Run) -> None:
    ran = run("setup", "scale", lines=["nau7802", "2000", ""])
    assert "The I2C bus /dev/i2c-1 can't be opened" in ran.out
    assert "  Later: crumbcall setup scale" in ran.out
    assert ran.status == 0


def test_a_recipe_that_can_not_be_used_is_not_written(run: Run, tmp_path: Path) -> None:
    ran = run("setup", "recipes", lines=["r2d2", "nettle", "semolina", "99", "31,5", "nettle", ""])
    assert "Found the name 'r2d2', allowed are words of letters, 40 at most; name it so." in ran.out
    assert "99" in ran.out
    assert "There is a recipe nettle already; change its file, or take another name." in ran.out
    recipe = tomllib.loads((tmp_path / "home/recipes/nettle.toml").read_text())
    assert recipe == {"name": "nettle", "target_pct": 31.5, "flour": {"semolina": 100}}
    assert "nettle" in Recipes.load(Pantry.load(), tmp_path / "home/recipes").plans


def test_a_recipe_by_the_name_of_one_that_ships_takes_its_place(run: Run, tmp_path: Path) -> None:
    run("setup", "recipes", lines=["egg", "semolina", "", "squid ink", "semolina", "", ""])
    files = sorted(file.name for file in (tmp_path / "home/recipes").glob("*.toml"))
    assert files == ["egg.toml", "squid_ink.toml"]
    assert "egg" in Recipes.load(Pantry.load(), tmp_path / "home/recipes").plans


def test_settings_that_can_not_be_read_are_told_before_anything_is_asked(run: Run, tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home/settings.toml").write_text("[batch]\nhopper_g = 5\n")
    ran = run("setup", lines=["Hotel"])
    assert ran.status == 2
    assert ran.out == ""
    assert ran.err.count("\n") == 1
    assert "hopper_g = 5" in ran.err


def test_a_setting_is_written_into_its_place_and_comments_stay(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('# ours\n[batch]  # the mixer\nhopper_g = 3000 # small\n\n[station]\nid = "a"\n')
    keep_setting(file, "batch", "hopper_g", 2500)
    keep_setting(file, "scale", "chip", "hx711")
    assert file.read_text() == (
        "# ours\n[batch]  # the mixer\nhopper_g = 2500 # small\n\n"
        '[station]\nid = "a"\n\n[scale]\nchip = "hx711"\n'
    )


@pytest.mark.parametrize(("section", "value"), [("batch", 5), ("batch", "much"), ("bathc", 2500)])
def test_a_setting_that_could_not_be_read_is_not_written(
    tmp_path: Path, section: str, value: str | float
) -> None:
    file = tmp_path / "settings.toml"
    file.write_text("[batch]\nhopper_g = 3000\n")
    with pytest.raises(SettingsError):
        keep_setting(file, section, "hopper_g", value)
    assert file.read_text() == "[batch]\nhopper_g = 3000\n"


# --- by trying


def test_sound_is_chosen_by_trying(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home = Home.find(tmp_path)
    fake = FakeDevices(["Webcam", "Headset", "Other"], ["Box"], broken=("Webcam", "Box"))
    choose_sound(home, fake)
    assert Settings.load(home.settings_file).microphone.device == "Headset"
    assert Settings.load(home.settings_file).speaker.device == ""
    assert capsys.readouterr().out.splitlines() == [
        "microphone: Webcam does not open.",
        "microphone: Headset",
        "speaker: Box does not open.",
        "speaker: none works yet; plug one in, then: crumbcall setup speaker",
    ]
    choose_sound(home, FakeDevices(["Other"], []))
    assert Settings.load(home.settings_file).microphone.device == "Headset"


def devices() -> list[Device]:
    names = ["default", "HDA Intel: ALC (hw:0,0)", "USB Mic: Audio (hw:1,0)", "USB Mic: Audio (hw:2,0)"]
    return [Device(number, name, 2, 2, 48_000) for number, name in enumerate(names)]


def test_cards_of_their_own_come_first_and_are_named_by_what_fits_one() -> None:
    real = RealDevices(Settings, devices)
    two_alike = ["USB Mic: Audio (hw:1,0)", "USB Mic: Audio (hw:2,0)"]
    assert real.names("input") == [*two_alike, "HDA Intel", "default"]


def test_no_device_works_at_all() -> None:
    def fails(name: str) -> None:
        raise SoundError(f"no {name}")

    assert first_that_works(["a", "b"], fails) == (None, ["no a", "no b"])


def test_the_steps_are_listed(run: Run) -> None:
    assert [line.split()[0] for line in run("setup", "--list").out.splitlines()] == [*STEPS]


def test_a_step_that_there_is_not_is_one_line(run: Run) -> None:
    ran = run("setup", "hoper")
    assert ran.status == 2
    assert ran.err.count("\n") == 1


def test_converse_takes_a_bench(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    context = click.Context(command.setup_command)
    converse((), Bench(Home.find(tmp_path), FakeDevices([], []), context))
    assert capsys.readouterr().out.splitlines()[-1].startswith("Kept in ")

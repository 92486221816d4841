import math
from dataclasses import fields
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.batch.record.clocks.food_rules import FoodRules
from assistant.batch.record.rules import BatchRules
from assistant.config.home import Home
from assistant.config.resources import grammar_folder
from assistant.config.settings import Settings
from assistant.config.toml_words import description
from assistant.errors import SettingsError
from tests.write_docs import settings_table


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "settings.toml"


def load(file: Path, text: str) -> Settings:
    file.write_text(text, encoding="utf-8")
    return Settings.load(file)


def refusal(file: Path, text: str) -> str:
    with pytest.raises(SettingsError) as caught:
        load(file, text)
    said = str(caught.value)
    assert "\n" not in said
    assert said.startswith(str(file))
    return said.removeprefix(f"{file}")


def all_settings() -> list[tuple[str, msgspec.structs.FieldInfo]]:
    return [
        (section.name, field)
        for section in msgspec.structs.fields(Settings)
        for field in msgspec.structs.fields(section.type)
    ]


def test_without_a_file_everything_has_its_default(file: Path) -> None:
    assert Settings.load(file) == Settings()
    assert load(file, "") == Settings()


def test_the_rules_are_the_batchs_own(file: Path) -> None:
    assert Settings().rules == BatchRules()
    assert [field.name for field in msgspec.structs.fields(Settings().batch)] == [
        field.name for field in fields(BatchRules) if field.name not in ("food", "cook")
    ]
    assert load(file, "[batch]\ntarget_pct = 32\nrest_s = 60.5").rules == BatchRules(
        target_pct=32.0, rest_s=60.5
    )


@pytest.mark.parametrize(
    ("text", "rules"),
    [
        # US Food Code 3-501.14(B), 4-602.11; in a room never above 10 C (50 F) every sixteen hours.
        ("", FoodRules("us", 5.0, 4 * 3600, 4 * 3600)),
        ('room = "10 C"', FoodRules("us", 5.0, 4 * 3600, 16 * 3600)),
        # DPR 187/2001 art. 9 c. 4: 4 C; it names no hours.
        ('rules = "italy"\nown_cold_hours = 2', FoodRules("italy", 4.0, 2 * 3600, 4 * 3600)),
        (
            'rules = "own"\nown_celsius = 3\nown_clean_hours = 3\nown_source = "our plan"',
            FoodRules("own", 3.0, 4 * 3600, 3 * 3600, source="our plan"),
        ),
    ],
)
def test_one_authority_says_how_cold_how_soon_and_how_soon_clean(
    file: Path, text: str, rules: FoodRules
) -> None:
    assert load(file, f"[food_safety]\n{text}").rules.food == rules


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "own_celsius = 3",
            'own_celsius counts for nothing with rules = "us"; remove it, or write rules = "own".',
        ),
        (
            'rules = "italy"\nown_celsius = 3',
            'own_celsius counts for nothing with rules = "italy"; remove it, or write rules = "own".',
        ),
        (
            'rules = "own"\nroom = "5 C"',
            'room counts only with rules = "us"; remove it, and write own_clean_hours instead.',
        ),
    ],
)
def test_what_would_be_mixed_with_the_authority_is_refused(file: Path, text: str, said: str) -> None:
    with pytest.raises(SettingsError) as refused:
        load(file, f"[food_safety]\n{text}")
    assert str(refused.value) == f"{file}: [food_safety] {said}"


def test_a_file_as_some_editors_save_it_is_read(file: Path) -> None:
    file.write_bytes(b"\xef\xbb\xbf[voice]\r\nrate = 120\r\n")
    assert Settings.load(file).voice.rate == 120


def test_a_model_is_found_beside_the_settings_file(file: Path) -> None:
    assert load(file, '[recogniser]\nmodel = "models/small"').recogniser.model == str(
        file.parent / "models/small"
    )
    assert load(file, '[recogniser]\nmodel = "/srv/model"').recogniser.model == "/srv/model"
    assert load(file, "").recogniser.model == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[batch]\ntarget_pct = "31"',
            ': [batch] target_pct = "31", allowed is a number from 15 to 60 %; change it, or remove the '
            "line to get 31.",
        ),
        (
            "[batch]\nhopper_g = 99",
            ": [batch] hopper_g = 99, allowed is a number from 100 to 50000 g; "
            "change it, or remove the line to get 3000.",
        ),
        (
            "[voice]\nvolume = nan",
            ": [voice] volume = nan, allowed is a number from 0 to 1; change it, or remove the line to "
            "get 1.",
        ),
        (
            "[voice]\nrate = 120.5",
            ": [voice] rate = 120.5, allowed is a whole number from 80 to 300 words a minute; "
            "change it, or remove the line to get 160.",
        ),
        (
            "[voice]\non = 1",
            ": [voice] on = 1, allowed is true or false; change it, or remove the line to get true.",
        ),
        (
            "[voice]\nname = 3",
            ': [voice] name = 3, allowed is text in quotes; change it, or remove the line to get "".',
        ),
        (
            '[recogniser]\nengine = "ear"',
            ': [recogniser] engine = "ear", allowed is "phoneme" or "vosk"; '
            'change it, or remove the line to get "phoneme".',
        ),
        (
            '[station]\nid = "../x"',
            ': [station] id = "../x", allowed is 1 to 40 letters, digits, spaces, - or _; '
            'change it, or remove the line to get "kitchen".',
        ),
        (
            "[batch]\ntarget_pct = [1, 2]",
            ": [batch] target_pct = [1, 2], allowed is a number from 15 to 60 %; "
            "change it, or remove the line to get 31.",
        ),
        (
            "[batch.target_pct]\n",
            ": [batch] target_pct = a section, allowed is a number from 15 to 60 %; "
            "change it, or remove the line to get 31.",
        ),
        (
            "[batch]\ntarget = 31",
            ': [batch] has no key "target"; did you mean target_pct? Write that, or remove it.',
        ),
        ("[speaker]\nqqqq = 31", ': [speaker] has no key "qqqq"; remove it; there are device, latency_s.'),
        (
            "[microfone]\n",
            ": there is no section [microfone]; did you mean microphone? Write that, or remove it.",
        ),
        (
            "[qqqq]\n",
            ": there is no section [qqqq]; remove it; there are batch, food_safety, cooking, timers, label, "
            "plan, voice, microphone, recogniser, speaker, station, pins, foot_switch, scale, "
            "printer, sync.",
        ),
        ("rest_s = 60", ": rest_s is not in a section; write [batch] on a line of its own above it."),
        (
            "batch = 3",
            ": batch = 3 is not a section; write [batch] on a line of its own, its keys below.",
        ),
        (
            "[batch]\nlow_pct = 32",
            ": [batch] low_pct = 32, target_pct = 31, high_pct = 33: low must not be above target, "
            "nor target above high; change one of them.",
        ),
        (
            "[batch]\ntarget_pct 31",
            " is not TOML: Expected '=' after a key in a key/value pair (at line 2, column 12); "
            "mend it, or move it away.",
        ),
        (
            "[batch]\nrest_s = 60\nrest_s = 90\n",
            " is not TOML: Cannot overwrite a value (at line 3, column 12); mend it, or move it away.",
        ),
    ],
)
def test_a_setting_that_cannot_be_used_is_refused_in_one_line(file: Path, text: str, said: str) -> None:
    assert refusal(file, text) == said


@pytest.mark.parametrize(("old", "new"), [("ear", "weights")])
def test_a_settings_old_name_stays_readable(file: Path, old: str, new: str) -> None:
    assert load(file, f'[recogniser]\n{old} = "packaged"').recogniser.weights == "packaged"
    assert refusal(file, f'[recogniser]\n{old} = "packaged"\n{new} = "kitchen"') == (
        f": [recogniser] has {old}, an old name of {new}, which is there too; remove {old}."
    )
    assert refusal(file, f'[recogniser]\n{old} = "hall"') == (
        f': [recogniser] {new} = "hall", allowed is "both" or "kitchen" or "packaged"; '
        'change it, or remove the line to get "kitchen".'
    )


def test_what_the_hearing_test_found_counts_less_than_what_is_written(file: Path) -> None:
    (file.parent / "hearing.toml").write_text('[recogniser]\nact_above = 0.9\nweights = "kitchen"\n')
    found = load(file, "[recogniser]\nact_above = 0.8\n[voice]\nrate = 120").recogniser
    assert (found.act_above, found.weights) == (0.8, "kitchen")
    assert refusal(file, "[recogniser]\nact_above = 99") == (
        ": [recogniser] act_above = 99, allowed is a number from 0.75 to 0.99; change it, or remove the line "
        "to get 0.9."
    )


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 5000,
        "[batch]\nrest_s = " + "9" * 5000,
        "[batch]\nrest_s = " + "9" * 400,
        "[batch]\nrest_s = 1e999",
        "[batch]\nrest_s = 1979-05-27",
        '[voice]\nname = """a\nb"""\nrate = """\n\n"""',
        '[voice]\n"a\\nb" = 3',
        '"a\\nb" = 3',
        "[[batch]]\nrest_s = 60",
    ],
)
def test_odd_files_are_refused_in_one_line(file: Path, text: str) -> None:
    assert len(refusal(file, text)) < 400


def test_a_file_that_is_not_text_is_refused(file: Path) -> None:
    file.write_bytes(b"[batch]\n\xff\xfe")
    with pytest.raises(SettingsError, match=r"is not UTF-8 text \(byte 8\); save it as UTF-8\.$"):
        Settings.load(file)


def test_a_folder_in_place_of_the_file_is_refused(file: Path) -> None:
    file.mkdir()
    with pytest.raises(
        SettingsError, match=r"can't be read \(Is a directory\); make it a readable file, or move it away\.$"
    ):
        Settings.load(file)


@pytest.mark.parametrize(("section", "field"), all_settings(), ids=lambda one: getattr(one, "name", one))
def test_every_setting_takes_its_default_and_its_bounds(
    file: Path, section: str, field: msgspec.structs.FieldInfo
) -> None:
    meta = field.type.__metadata__[0]
    assert description(field.type), "every setting says what it is"
    assert msgspec.convert(field.default, field.type) == field.default
    if meta.ge is not None:
        assert meta.ge <= field.default <= meta.le
        for wrong in (meta.ge - 1, meta.le + 1):
            assert f"[{section}] {field.name} = {wrong:g}, allowed is" in refusal(
                file, f"[{section}]\n{field.name} = {wrong}"
            )


def test_the_table_has_a_row_for_every_setting() -> None:
    rows = settings_table().splitlines()[2:]
    assert len(rows) == len(all_settings())
    for (section, field), row in zip(all_settings(), rows, strict=True):
        assert row.startswith(f"| `[{section}] {field.name}` | ")
        assert row.count("|") == 5
    assert (
        "| `[batch] target_pct` | 31 | a number from 15 to 60 % | hydration aimed at: water per 100 of "
        "flour |" in rows
    )


@given(
    st.dictionaries(
        st.sampled_from([*sorted({field.name for _, field in all_settings()}), "x", ""]),
        st.one_of(
            st.none(),
            st.booleans(),
            st.integers(),
            st.floats(),
            st.text(max_size=8),
            st.lists(st.integers(), max_size=2),
        ),
        max_size=3,
    ),
    st.sampled_from([section.name for section in msgspec.structs.fields(Settings)] + ["x"]),
)
def test_whatever_is_written_gives_usable_settings_or_one_line(values: dict[str, Any], section: str) -> None:
    try:
        settings = Settings.taken(Path("settings.toml"), {section: values})
    except SettingsError as error:
        said = str(error)
        settings = None
    if settings is None:
        assert said.startswith("settings.toml: ")
        assert len(said.splitlines()) == 1
        return
    for name, field in all_settings():
        value = getattr(getattr(settings, name), field.name)
        assert type(value) is type(field.default)
        assert not isinstance(value, float) or math.isfinite(value)
    assert settings.batch.low_pct <= settings.batch.target_pct <= settings.batch.high_pct


# --- where the files are


def test_a_named_home_holds_everything(tmp_path: Path) -> None:
    home = Home.find(tmp_path, {"CRUMBCALL_HOME": "/elsewhere"})
    assert home.settings_file == tmp_path / "settings.toml"
    assert home.journal_file == tmp_path / "journal.sqlite"
    assert home.models_folder == tmp_path / "models"
    assert home.grammar_folder() == tmp_path / "grammar" / "en"


def test_a_home_may_be_named_by_the_environment() -> None:
    assert Home.find(None, {"CRUMBCALL_HOME": "/srv/station"}).data == Path("/srv/station")


def test_a_relative_home_stays_where_it_was_meant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert Home.find(Path("here")).data == tmp_path / "here"


@pytest.mark.parametrize(
    ("environ", "config", "data"),
    [
        # XDG Base Directory Specification 0.8: defaults, absolute paths; relative or empty is as unset.
        ({}, "/cook/.config/crumbcall", "/cook/.local/share/crumbcall"),
        (
            {"XDG_CONFIG_HOME": "/c", "XDG_DATA_HOME": "/d"},
            "/c/crumbcall",
            "/d/crumbcall",
        ),
        (
            {"XDG_CONFIG_HOME": "c", "XDG_DATA_HOME": "", "CRUMBCALL_HOME": ""},
            "/cook/.config/crumbcall",
            "/cook/.local/share/crumbcall",
        ),
    ],
)
def test_without_a_name_the_folders_are_the_standards(
    environ: dict[str, str], config: str, data: str
) -> None:
    assert Home.find(None, {"HOME": "/cook", **environ}) == Home(Path(config), Path(data))


def test_no_home_at_all_is_one_clear_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", unknown)
    with pytest.raises(
        SettingsError, match=r"^no folder to keep things in is known .*; name one with --home\.$"
    ):
        Home.find(None, {})


def test_the_kitchens_copy_of_a_language_file_counts(tmp_path: Path) -> None:
    home = Home.find(tmp_path)
    shipped = grammar_folder() / "commands.jsgf"
    assert home.language_file("commands.jsgf") == shipped
    assert home.language_files("commands.jsgf") == (shipped,)
    own = home.grammar_folder() / "commands.jsgf"
    own.parent.mkdir(parents=True)
    own.touch()
    assert home.language_file("commands.jsgf") == own
    assert home.language_files("commands.jsgf") == (shipped, own)


def test_what_a_language_lacks_comes_from_english(tmp_path: Path) -> None:
    home = Home.find(tmp_path)
    english = home.grammar_folder() / "commands.jsgf"
    english.parent.mkdir(parents=True)
    english.touch()
    assert home.language_file("commands.jsgf", "it") == english
    assert home.language_files("walks.toml", "it") == (grammar_folder("it") / "walks.toml",)


def test_a_kitchens_own_language_lies_over_english(tmp_path: Path) -> None:
    home = Home.find(tmp_path)
    own = home.grammar_folder("de") / "replies.toml"
    own.parent.mkdir(parents=True)
    own.touch()
    assert home.language_files("replies.toml", "de") == (grammar_folder() / "replies.toml", own)
    assert home.language_files("walks.toml", "de") == (grammar_folder() / "walks.toml",)


def test_a_language_needs_a_folder(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('[station]\nlanguage = "de"\n')
    with pytest.raises(SettingsError) as caught:
        Settings.load(file)
    assert str(caught.value) == (
        f'{file}: [station] language = "de", allowed is "en" or "it"; '
        'change it, or remove the line to get "en".'
    )
    (tmp_path / "grammar" / "de").mkdir(parents=True)
    assert Settings.load(file).station.language == "de"


@pytest.mark.parametrize("language", ["", ".", "..", "it/", "EN"])
def test_a_language_is_the_name_of_a_folder(tmp_path: Path, language: str) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(f'[station]\nlanguage = "{language}"\n')
    with pytest.raises(SettingsError, match='allowed is "en" or "it"'):
        Settings.load(file)


def test_the_voice_is_that_of_the_language_unless_one_is_named(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    assert Settings.load(file).voice_name == "en"
    file.write_text('[station]\nlanguage = "it"\n')
    assert Settings.load(file).voice_name == "it"
    file.write_text('[station]\nlanguage = "it"\n[voice]\nname = "en-us"\n')
    assert Settings.load(file).voice_name == "en-us"


def test_making_the_home_can_be_repeated(tmp_path: Path) -> None:
    home = Home.find(tmp_path / "a" / "b")
    home.make()
    home.make()
    assert home.data.is_dir()


def test_a_file_in_place_of_the_home_is_refused(tmp_path: Path) -> None:
    (tmp_path / "taken").touch()
    for folder in ("taken", "taken/below"):
        with pytest.raises(SettingsError, match=r"can't be made \(.+\); name another one with --home\.$"):
            Home.find(tmp_path / folder).make()

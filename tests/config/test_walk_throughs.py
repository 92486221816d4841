"""Walk-throughs from files: those that ship hold the house's law, and a kitchen's own are checked."""

from pathlib import Path

import pytest

from assistant.config.resources import grammar_folder
from assistant.config.walk_throughs import FILE, load_walks
from assistant.errors import GrammarError

SHIPPED = grammar_folder() / FILE
OWN = '["clean down"]\nsteps = [{say = "Off and unplugged.", safety = true}, {say = "Go home."}]\n'


def test_those_that_ship_begin_with_the_plug_and_never_say_that_it_is_safe() -> None:
    walks = load_walks([SHIPPED])
    assert set(walks) == {"opening check", "die change", "clean down"}
    for walk in walks.values():
        first = walk.steps[0]
        assert first.safety
        # 29 CFR 1910.147: unplugged, the plug in one's own control, before service or cleaning.
        assert all(word in first.say for word in ("off and unplugged", "hands clear", "you who switches"))
        said = " ".join(f"{step.say} {step.caution or ''}" for step in walk.steps).lower()
        assert "safe" not in said


def test_those_that_ship_keep_the_customs_of_the_trade() -> None:
    # Common practice, no source: no steel on a die, bronze not in the dish-washer, the auger left in its seat.
    walks = load_walks([SHIPPED])
    cautions = {name: [step.caution for step in walk.steps if step.caution] for name, walk in walks.items()}
    assert cautions == {
        "opening check": ["No steel on the die."],
        "die change": ["Don't drag the auger out with it.", "No steel on the die."],
        "clean down": ["No steel on the die.", "No dish-washer for bronze."],
    }


def test_a_kitchen_puts_its_own_in_the_place_of_one(tmp_path: Path) -> None:
    own = tmp_path / FILE
    own.write_text(OWN, encoding="utf-8")
    walks = load_walks([SHIPPED, own])
    assert [step.say for step in walks["clean down"].steps] == ["Off and unplugged.", "Go home."]
    assert len(walks["die change"].steps) == 8


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '["x"]\nsteps = [{say = "Scrape it."}]',
            "\"x\" begins with 'Scrape it.'; the first step is one with safety = true, machine off and unplugged: "
            "put it first.",
        ),
        ("[x", "is not TOML: "),
        ('["x"]\nsteps = []', '"x" can\'t be walked: Expected `array` of length >= 1'),
        ('["x"]\nsteps = [{sag = "a"}]', '"x" can\'t be walked: Object '),
        ("x = 3", '"x" can\'t be walked: Expected `object`, got `int`'),
    ],
)
def test_a_file_that_can_not_be_used_is_told_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / FILE
    file.write_text(text, encoding="utf-8")
    with pytest.raises(GrammarError) as error:
        load_walks([file])
    assert said in str(error.value)
    assert str(file) in str(error.value)
    assert len(str(error.value).splitlines()) == 1


def test_a_file_that_can_not_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / FILE).write_bytes(b"\xff\xfe")
    with pytest.raises(GrammarError, match="is not UTF-8 text"):
        load_walks([tmp_path / FILE])
    with pytest.raises(GrammarError, match="can't be read"):
        load_walks([tmp_path])

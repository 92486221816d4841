"""Walk-throughs from files: those that ship keep the law of safety, and a kitchen's own are checked."""

from pathlib import Path

import pytest

from assistant.config.language.walk_throughs import FILE, load_walks
from assistant.config.resources import grammar_folder
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
    # Common practice, no source: no steel on a die, no dish-washer for bronze, the auger stays in its seat.
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
            ": [x] steps no. 1 is not a safety step, allowed is one with safety = true, machine off and "
            "unplugged; put that first.",
        ),
        (
            "[x",
            " is not TOML: Expected ']' at the end of a table declaration (at end of document); mend it, "
            "or move it away.",
        ),
        (
            '["x"]\nsteps = []',
            ': [x] steps = [], allowed is 1 to 30 steps, as [{ say = "Machine off and unplugged, hands '
            'clear.", '
            "safety = true }]; change it.",
        ),
        (
            '["clean down"]\nsteps = [{sag = "a"}]',
            ': ["clean down"] steps no. 1 has no key "sag"; did you mean say? Write that, or remove it.',
        ),
        (
            '["x"]\nsteps = [{say = "a", safety = true}, {safety = true}]',
            ': [x] steps no. 2 say is missing; write say = "The guard closes.".',
        ),
        (
            '["x"]\nsteps = ["a"]',
            ': [x] steps no. 1 = "a" is not a section; write its keys in braces, as { key = value }.',
        ),
        ("x = 3", ": x = 3 is not a section; write [x] on a line of its own, its keys below."),
    ],
)
def test_a_file_that_can_not_be_used_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / FILE
    file.write_text(text, encoding="utf-8")
    with pytest.raises(GrammarError) as error:
        load_walks([file])
    assert str(error.value) == f"{file}{said}"


def test_a_file_that_can_not_be_read_is_reported(tmp_path: Path) -> None:
    (tmp_path / FILE).write_bytes(b"\xff\xfe")
    with pytest.raises(GrammarError, match="is not UTF-8 text"):
        load_walks([tmp_path / FILE])
    with pytest.raises(GrammarError, match="can't be read"):
        load_walks([tmp_path])

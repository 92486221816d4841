"""The scene of a rehearsal: the one that ships, and what is wrong with one."""

from pathlib import Path

import pytest

from assistant.config.language.scene import FILE, Cue, read_scene
from assistant.config.resources import grammar_folder
from assistant.errors import SettingsError

GOOD = 'title = "A morning"\ncook = "en-us"\nrate = 150\n'


def test_the_scene_that_ships_is_read() -> None:
    scene = read_scene(grammar_folder() / FILE)
    assert scene.turn[0] == Cue(say="lot four seven one")
    assert {name for cue in scene.turn for name in cue.set} == {"say", "talk", "wait", "until"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (GOOD, 'turn is missing; write turn = [{ say = "undo" }].'),
        (
            GOOD + 'turn = [{ say = "undo" }, { say = "undo", wait = 3 }]',
            "turn no. 2 has say, wait, allowed is one of say, talk, wait, until; write one of them.",
        ),
        (
            GOOD + "turn = [{}]",
            "turn no. 1 has nothing, allowed is one of say, talk, wait, until; write one of them.",
        ),
        (
            GOOD + "turn = [{ wait = -1 }]",
            "turn no. 1 wait = -1, allowed is a number from 0 to 3600 s; change it, or remove the line.",
        ),
        (
            GOOD + 'turn = [{ until = "noon" }]',
            'turn no. 1 until = "noon", allowed is "ring"; change it, or remove the line.',
        ),
        (
            GOOD.replace("150", "1.5") + 'turn = [{ say = "undo" }]',
            "rate = 1.5, allowed is a whole number from 80 to 300 words a minute; change it.",
        ),
    ],
)
def test_a_wrong_scene_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / FILE
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        read_scene(file)
    assert str(caught.value) == f"{file}: {said}"

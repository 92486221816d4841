import re

from assistant.cli import crumbcall
from tests.bench.guide.__main__ import ANSWERS, commands_of
from tests.bench.guide.fresh import TOP

GUIDE = (TOP / "hardware/README.md").read_text(encoding="utf-8")


def test_the_commands_of_the_guide_are_found_in_their_order() -> None:
    commands = commands_of(GUIDE)
    assert commands[0] == "sudo bash hardware/setup.sh --station"
    assert len(commands) >= 5
    assert ANSWERS.keys() <= set(commands)


def test_the_guide_needs_no_sudo_beside_setting_up() -> None:
    for command in commands_of(GUIDE)[1:]:
        assert not command.startswith("sudo")
        if found := re.match(r"crumbcall (\S+)", command):
            assert found[1] in crumbcall.commands or crumbcall.get_command(None, found[1])  # type: ignore[arg-type]


def test_text_beside_the_commands_is_none() -> None:
    assert commands_of(
        "## From shopping to the first batch\n\n1. Do `x`:\n\n       a b\n\n   more\n## Next\n\n       c\n"
    ) == ["a b"]

"""Writes the parts of the documents that are made from the program: `python -m tests.write_docs`.

A part is between `<!-- begin NAME -->` and `<!-- end NAME -->`. `test_docs.py` fails where one is out of date.
"""

import re
from collections.abc import Callable
from pathlib import Path

import click
import msgspec

from assistant.batch.record.announcements import SAYABLE
from assistant.batch.record.transitions import diagram
from assistant.cli import crumbcall
from assistant.config.resources import grammar_folder
from assistant.config.settings import Settings
from assistant.config.toml_words import allowed, description, former_names, shown
from assistant.devices.wiring import drawing, lamp_table, wiring_table
from assistant.nlu import load_grammar

ROOT = Path(__file__).parent.parent
DRAWING = ROOT / "hardware/wiring.svg"


def commands_table() -> str:
    """Every command of the program with its first line of help and its example."""
    lines = ["| command | what it does | example |", "|---|---|---|"]
    context = click.Context(crumbcall)
    for name in crumbcall.list_commands(context):
        command = crumbcall.get_command(context, name)
        text = (command.help or "") if command else ""
        first, _, rest = text.partition("\n")
        example = rest.partition("Example:")[2].strip().splitlines()[0]
        lines.append(f"| `crumbcall {name}` | {first} | `{example.replace('|', chr(92) + '|')}` |")
    return "\n".join(lines)


def phrases_table() -> str:
    """Every rule of the grammar that has examples, with them."""
    lines = ["| what for | what to say |", "|---|---|"]
    for rule, examples in load_grammar(grammar_folder() / "commands.jsgf").phrases().items():
        said = ", ".join(f'"{example}"' for example in examples)
        lines.append(f"| {rule.replace('_', ' ')} | {said} |")
    return "\n".join(lines)


def announcements_table() -> str:
    """Every announcement with its values."""
    lines = ["| announcement | values |", "|---|---|"]
    lines += [f"| {key} | {', '.join(sorted(values))} |" for key, values in SAYABLE.items()]
    return "\n".join(lines)


def settings_table() -> str:
    """Every setting with its default and what is allowed."""
    lines = ["| setting | default | allowed | what |", "|---|---|---|---|"]
    for section in msgspec.structs.fields(Settings):
        for field in msgspec.structs.fields(section.type):
            what = description(field.type)
            if names := former_names(field.type):
                what += f" (its old name {', '.join(f'`{name}`' for name in names)} is read too)"
            lines.append(
                f"| `[{section.name}] {field.name}` | {shown(field.default)} | {allowed(field.type)} | {what} |"
            )
    return "\n".join(lines)


def transitions() -> str:
    """The transition table as a diagram."""
    return f"```mermaid\n{diagram()}\n```"


PARTS: dict[str, tuple[str, Callable[[], str]]] = {
    "commands": ("README.md", commands_table),
    "phrases": ("README.md", phrases_table),
    "lamp": ("hardware/README.md", lamp_table),
    "wiring": ("hardware/README.md", wiring_table),
    "transitions": ("DEVELOPERS.md", transitions),
    "settings": ("hardware/SETTINGS.md", settings_table),
    "announcements": ("DEVELOPERS.md", announcements_table),
}


def part_in(text: str, name: str) -> str | None:
    """What is between the marks of a part; None where the marks are missing."""
    found = re.search(rf"<!-- begin {name} -->\n(.*?)\n?<!-- end {name} -->", text, re.DOTALL)
    return found.group(1) if found else None


def main() -> None:
    """Write all parts again."""
    for name, (file, make) in PARTS.items():
        path = ROOT / file
        text = path.read_text(encoding="utf-8")
        begin, end = f"<!-- begin {name} -->", f"<!-- end {name} -->"
        if part_in(text, name) is None:
            raise SystemExit(f"{file} has no marks for {name}")
        before, after = text.partition(begin)[0], text.partition(end)[2]
        path.write_text(f"{before}{begin}\n{make()}\n{end}{after}", encoding="utf-8")
    DRAWING.write_text(drawing(), encoding="utf-8")


if __name__ == "__main__":
    main()

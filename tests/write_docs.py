"""Writes the parts of the documents that are made from the program: `python -m tests.write_docs`.

A part is between `<!-- begin NAME -->` and `<!-- end NAME -->`. `test_docs.py` fails where one is
out of date.
"""

import ast
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import click
import msgspec

from assistant.batch.record.announcements import SAYABLE
from assistant.batch.record.evolving.transitions import diagram
from assistant.cli import crumbcall
from assistant.config.resources import grammar_folder
from assistant.config.settings import Settings
from assistant.config.toml_words import allowed, description, former_names, shown
from assistant.devices.wiring import lamp_table, wiring_table
from assistant.devices.wiring_drawing import drawing
from assistant.journal.exporting.descriptor import schema_markdown
from assistant.nlu import load_grammar

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "assistant"
DRAWING = ROOT / "hardware/wiring.svg"


FIRST_PHRASES = (
    "lot", "new_batch", "water", "how_much_left", "make_that", "undo", "mix", "got_it", "crumb", "rest",
    "timer", "next", "tray_done", "close_batch",
)  # fmt: skip
"""Rules of the grammar that a newcomer needs, in the order of a batch."""


def commands_table() -> str:
    """Every command of the program with its first line of help."""
    lines = ["| command | what it does |", "|---|---|"]
    context = click.Context(crumbcall)
    for name in crumbcall.list_commands(context):
        command = crumbcall.get_command(context, name)
        text = (command.help or "") if command else ""
        lines.append(f"| `crumbcall {name}` | {text.partition(chr(10))[0]} |")
    return "\n".join(lines)


def phrases() -> dict[str, list[str]]:
    """Every rule of the grammar that has examples, with them in quotes."""
    found = load_grammar(grammar_folder() / "commands.jsgf").phrases()
    return {rule: [f'"{example}"' for example in examples] for rule, examples in found.items()}


def phrases_table() -> str:
    """What to say, by what for."""
    rows = [f"| {rule.replace('_', ' ')} | {', '.join(said)} |" for rule, said in phrases().items()]
    return "\n".join(["| what for | what to say |", "|---|---|", *rows])


def first_phrases() -> str:
    """The sentences of an ordinary batch: the first example of each."""
    return "> " + " · ".join(phrases()[rule][0] for rule in FIRST_PHRASES)


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
                f"| `[{section.name}] {field.name}` | {shown(field.default)} | {allowed(field.type)} | "
                f"{what} |"
            )
    return "\n".join(lines)


def packages_table() -> str:
    """Packages in the order of the import contract, each with the first sentence that it says of itself."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = {one["name"]: one for one in project["tool"]["importlinter"]["contracts"]}
    rows = ["| package | what is in it |", "|---|---|"]
    for layer in contracts["one direction: from printing down to errors"]["layers"]:
        for name in layer.split(" | "):
            parts = [name]
            if name == "batch":
                inner = contracts["what is decided rests on what is recorded"]["layers"]
                parts = [f"batch/{part}" for part in inner]
            rows += [f"| `{_shown(part)}` | {_purpose(part)} |" for part in parts]
    return "\n".join(rows)


def _shown(name: str) -> str:
    return f"{name}/" if (PACKAGE / name).is_dir() else f"{name}.py"


def _purpose(name: str) -> str:
    path = PACKAGE / name
    module = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    text = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or ""
    return " ".join(text.partition("\n\n")[0].split())


def transitions() -> str:
    """The transition table as a diagram."""
    return f"```mermaid\n{diagram()}\n```"


PARTS: dict[str, tuple[str, Callable[[], str]]] = {
    "commands": ("README.md", commands_table),
    "first phrases": ("README.md", first_phrases),
    "phrases": ("grammar/README.md", phrases_table),
    "lamp": ("hardware/README.md", lamp_table),
    "wiring": ("hardware/README.md", wiring_table),
    "transitions": ("assistant/batch/README.md", transitions),
    "packages": ("DEVELOPERS.md", packages_table),
    "settings": ("hardware/SETTINGS.md", settings_table),
    "export": ("assistant/journal/exporting/README.md", schema_markdown),
    "announcements": ("grammar/README.md", announcements_table),
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

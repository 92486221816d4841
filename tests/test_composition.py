"""The composition root: what stands for a port is built in `assistant/app`, or inside its own package."""

import ast
from pathlib import PurePath

from tests.test_project import texts

PORT_MODULES = ("assistant/ports.py", "assistant/devices/foot_switch.py", "assistant/devices/lamp.py")
NOT_PARTS = ("assistant/app/", "assistant/testing/")
"""Where building is the task, and where fakes are checked against their contracts."""


def _package(name: str) -> str:
    """The package directly below `assistant` that a module belongs to; the module's own name at the root."""
    return PurePath(name).parts[1]


def _members(node: ast.ClassDef, classes: dict[str, ast.ClassDef]) -> frozenset[str]:
    """Public methods and attributes of a class, those of its bases in this project included."""
    found: set[str] = set()
    for one in node.body:
        if isinstance(one, ast.FunctionDef):
            found.add(one.name)
        elif isinstance(one, ast.Assign):
            found |= {target.id for target in one.targets if isinstance(target, ast.Name)}
    for base in node.bases:
        if isinstance(base, ast.Name) and base.id in classes:
            found |= _members(classes[base.id], classes)
    return frozenset(name for name in found if not name.startswith("_"))


def _is_protocol(node: ast.ClassDef) -> bool:
    return any(ast.unparse(base).startswith("Protocol") for base in node.bases)


def _classes() -> list[tuple[str, ast.ClassDef]]:
    return [
        (name, node)
        for name, text in texts("assistant/*.py")
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.ClassDef)
    ]


def _ports() -> dict[str, frozenset[str]]:
    """Members of every port of the station to a device, an engine or a file."""
    return {
        node.name: _members(node, {})
        for name, node in _classes()
        if name in PORT_MODULES and _is_protocol(node)
    }


def _adapters() -> dict[str, set[str]]:
    """Every class that has all members of a port, and the packages in which it is written."""
    ports, classes = _ports().values(), {node.name: node for _, node in _classes()}
    found: dict[str, set[str]] = {}
    for name, node in _classes():
        members = _members(node, classes)
        ours = not name.startswith(NOT_PARTS) and not _is_protocol(node)
        if ours and any(port <= members for port in ports):
            found.setdefault(node.name, set()).add(_package(name))
    return found


def _built(text: str) -> set[str]:
    """Names of classes that a module calls, directly or by a method of the class (`SqliteJournal.open`)."""
    calls = [node.func for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call)]
    called = {one.id for one in calls if isinstance(one, ast.Name)}
    return called | {
        one.value.id for one in calls if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name)
    }


def test_the_ports_are_found_and_so_is_what_stands_for_them() -> None:
    assert {
        "Clock",
        "Journal",
        "Microphone",
        "Speaker",
        "Voice",
        "Recogniser",
        "ScaleReader",
    } <= _ports().keys()
    assert {"Switch", "Output"} <= _ports().keys()
    known = {
        "RealClock",
        "SqliteJournal",
        "SoundMicrophone",
        "SoundSpeaker",
        "LastingSpeaker",
        "MicrophoneApart",
        "EspeakVoice",
    }
    known |= {"Nau7802", "Hx711", "PinSwitch", "UsbPedal", "PhonemeRecogniser", "SpeechEndpointer"}
    assert known <= _adapters().keys()


def test_only_the_application_builds_adapters() -> None:
    adapters = _adapters()
    offenders = [
        f"{name} builds {cls}"
        for name, text in texts("assistant/*.py")
        if not name.startswith(NOT_PARTS)
        for cls in sorted(_built(text) & adapters.keys())
        if _package(name) not in adapters[cls]
    ]
    assert offenders == [], "take it from assistant/app/adapters.py, or get it as an argument"


def test_a_builder_elsewhere_would_be_found() -> None:
    assert _built("clock = RealClock()") == {"RealClock"}
    assert _built("journal = SqliteJournal.open(path, clock)") >= {"SqliteJournal"}
    assert _built("def f(clock: RealClock) -> None: ...") == set()

"""Walk-throughs from the kitchen's files: those that ship, then its own, which take the place of those they name."""

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from assistant.batch.record.steps import Step, WalkThrough
from assistant.errors import GrammarError

FILE = "walks.toml"


class _Step(Struct, frozen=True, forbid_unknown_fields=True):
    """One step as written."""

    say: Annotated[str, Meta(min_length=1, max_length=120)]
    safety: bool = False
    caution: Annotated[str, Meta(min_length=1, max_length=120)] | None = None


class _Walk(Struct, frozen=True, forbid_unknown_fields=True):
    """One walk-through as written."""

    steps: Annotated[list[_Step], Meta(min_length=1, max_length=30)]


def load_walks(files: Iterable[Path]) -> dict[str, WalkThrough]:
    """Walk-throughs by name; a later file's count. Raises GrammarError (one line) that names file and walk-through."""
    found: dict[str, WalkThrough] = {}
    for file in files:
        for name, value in _read(file).items():
            found[name] = _walk(file, name, value)
    return found


def _read(file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise GrammarError(
            f"{file} can't be read ({error.strerror}); make it readable or move it away."
        ) from error
    except UnicodeDecodeError as error:
        raise GrammarError(f"{file} is not UTF-8 text (byte {error.start}); save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:
        why = str(error).rstrip(".") or "nested too deeply"
        raise GrammarError(f"{file} is not TOML: {why}; mend it, or move it away.") from error


def _walk(file: Path, name: str, value: Any) -> WalkThrough:
    try:
        written = msgspec.convert(value, _Walk)
    except msgspec.ValidationError as error:
        raise GrammarError(
            f'{file}: "{name}" can\'t be walked: {error}; a walk-through is ["{name}"] and steps of say, safety, caution.'
        ) from error
    if not written.steps[0].safety:
        raise GrammarError(
            f'{file}: "{name}" begins with {written.steps[0].say!r}; the first step is one with safety = true, '
            "machine off and unplugged: put it first."
        )
    return WalkThrough(name, tuple(Step(step.say, step.safety, step.caution) for step in written.steps))

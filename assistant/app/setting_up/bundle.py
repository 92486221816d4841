"""What support needs of a station, in one file: no sound, no spoken word, no name of a cook, no secret.

In it are versions, the settings, what `crumbcall check` finds, the end of the service's log without what was
said, and how many events of each kind the journal has. Nothing else of the home folder is read.
"""

import json
import platform
import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Mapping
from importlib import metadata
from pathlib import Path
from typing import Any

from assistant.config.toml_file import read_toml
from assistant.errors import CrumbcallError, PaperError
from assistant.journal.reader import JournalReader

LEFT_OUT = "(left out)"
_SECRET = re.compile(r"pass|secret|token|key|cook|url|dsn", re.IGNORECASE)
_WITH_USER = re.compile(r"//[^/@\s]*@")
_SAID = re.compile(r"\b\d+:\d\d(?::\d\d)?  (?:cook|crumbcall) ")
_VOICE = "voice of "
LOG_LINES = 500


def settings_text(found: Mapping[str, Any]) -> str:
    """Settings as JSON; what names a person or opens something is left out."""

    def clean(key: str, value: Any) -> Any:
        if isinstance(value, Mapping):
            return {name: clean(name, one) for name, one in value.items()}
        if _SECRET.search(key) and value:
            return LEFT_OUT
        return _WITH_USER.sub(f"//{LEFT_OUT}@", value) if isinstance(value, str) else value

    return json.dumps(clean("", found), indent=1, ensure_ascii=False, default=str)


def log_text(lines: Iterable[str]) -> str:
    """The last lines of a log; those that quote cook or station are only counted."""
    last = [*lines][-LOG_LINES:]
    kept = [_WITH_USER.sub(f"//{LEFT_OUT}@", line.rstrip("\n")) for line in last if not _SAID.search(line)]
    return "\n".join([*kept, f"({len(last) - len(kept)} lines of what was said are left out)", ""])


def versions_text(
    system: Path = Path("/etc/os-release"), model: Path = Path("/proc/device-tree/model")
) -> str:
    """The program, the machine and every library, with their versions."""
    lines = [
        f"machine: {platform.machine()}, Python {platform.python_version()}, kernel {platform.release()}"
    ]
    here = [file for file in (system, model) if file.is_file()]
    lines += [file.read_text(encoding="utf-8", errors="replace").strip("\0\n") for file in here]
    lines += sorted(f"{one.metadata['Name']}=={one.version}" for one in metadata.distributions())
    return "\n".join([*lines, ""])


def journal_text(file: Path) -> str:
    """Shape of the journal as JSON: its size, and how many events of each kind it has."""
    try:
        with JournalReader.open(file) as journal:
            kinds = Counter(type(event).__name__ for _, event in journal.read())
    except CrumbcallError as error:
        return json.dumps({"problem": str(error)})
    return json.dumps({"bytes": file.stat().st_size, "events": dict(sorted(kinds.items()))}, indent=1)


def check_text(text: str) -> str:
    """What `crumbcall check --json` printed, without the cooks' names."""
    try:
        found = json.loads(text)
        parts = [
            one | {"part": "voice of a cook"} if one["part"].startswith(_VOICE) else one
            for one in found["parts"]
        ]
    except (ValueError, KeyError, TypeError):
        return text
    return json.dumps(found | {"parts": parts}, indent=1, ensure_ascii=False)


def settings_of(file: Path) -> str:
    """The settings file as `settings_text` shows it, or why it can't be read."""
    try:
        return settings_text(read_toml(file, optional=True))
    except CrumbcallError as error:
        return json.dumps({"problem": str(error)})


def write_bundle(file: Path, parts: Mapping[str, str]) -> None:
    """Write the parts, by their names, into one ZIP file. Raises PaperError."""
    try:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as bundle:
            for name, text in parts.items():
                bundle.writestr(name, text)
    except OSError as error:
        raise PaperError(f"{file} can't be written ({error.strerror}); name another file.") from error

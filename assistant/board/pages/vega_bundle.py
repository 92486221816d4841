"""The script that draws figures in a page, as vl-convert carries it: made once, then kept as a file.

It is put together in a process of its own, for that takes 150 MB for a few seconds.
"""

import subprocess
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from threading import Lock

from assistant.errors import SettingsError
from assistant.sheets.charts.drawing import INSTALL

_MAKE = "import sys, vl_convert; sys.stdout.write(vl_convert.javascript_bundle())"
_LONGEST_S = 120.0
_LOCK = Lock()


def vega_bundle(folder: Path) -> bytes:
    """The script, from its file in `folder`. Raises SettingsError where it can't be made."""
    try:
        file = folder / f"vega-{version('vl-convert-python')}.js"
    except PackageNotFoundError:
        raise SettingsError(f"figures are drawn by vl-convert, which is not here: {INSTALL}.") from None
    with _LOCK:
        if not file.is_file():
            _make(file)
        try:
            return file.read_bytes()
        except OSError as error:
            raise SettingsError(f"{file} can't be read ({error.strerror}); delete it.") from None


def _make(file: Path) -> None:
    part = file.with_suffix(".part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        made = subprocess.run(
            [sys.executable, "-c", _MAKE], capture_output=True, check=True, timeout=_LONGEST_S
        )
        part.write_bytes(made.stdout)
        part.replace(file)
    except (OSError, subprocess.SubprocessError) as error:
        raise SettingsError(f"{file} can't be made ({error}); make room, then load the page again.") from None

"""`crumbcall listen` as another process, at a microphone and a speaker of these names."""

import os
import subprocess
import sys
from pathlib import Path

from tests.audio.virtual_card import MICROPHONE, SPEAKER

AT_THE_CARD = f'[microphone]\ndevice = "{MICROPHONE}"\n[speaker]\ndevice = "{SPEAKER}"\n'
"""Settings of a station at the virtual sound card."""


def listen_process(
    home: Path, settings: str = AT_THE_CARD, *, stderr: int = subprocess.PIPE
) -> "subprocess.Popen[str]":
    """The process with these settings in its home; what it says comes as JSON, a line a turn."""
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text(settings, encoding="utf-8")
    return subprocess.Popen(
        [sys.executable, "-m", "assistant", "--home", str(home), "listen", "--json"],
        stdout=subprocess.PIPE,
        stderr=stderr,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )

"""`listen` where no microphone and no speaker is: a station all the same. Time is real here."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path


def test_it_starts_says_what_is_missing_and_ends_in_order(tmp_path: Path) -> None:
    settings = '[microphone]\ndevice = "no such microphone"\n[speaker]\ndevice = "no such speaker"\n'
    (tmp_path / "settings.toml").write_text(settings, encoding="utf-8")
    listening = subprocess.Popen(
        [sys.executable, "-m", "assistant", "--home", str(tmp_path), "listen", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert listening.stdout is not None
    try:
        ready = json.loads(listening.stdout.readline())
    finally:
        listening.send_signal(signal.SIGHUP)
        _, error = listening.communicate(timeout=60)
    assert [reply["key"] for reply in ready["replies"]] == ["ready", "parts_missing"]
    assert {"microphone", "speaker"} <= set(
        ready["replies"][1]["text"].removeprefix("Check these: ").removesuffix(".").split(", ")
    )
    assert listening.returncode == 0
    lines = error.splitlines()
    assert [line.partition(":")[0] for line in lines if line.startswith("No ")] == [
        "No voice",
        "No microphone",
    ]
    assert "Traceback" not in error

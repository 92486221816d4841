"""`listen` where no microphone and no speaker is: a station all the same. Time is real here."""

import json
import signal
from pathlib import Path

from tests.audio.listen_process import listen_process


def test_it_starts_says_what_is_missing_and_ends_in_order(tmp_path: Path) -> None:
    settings = '[microphone]\ndevice = "no such microphone"\n[speaker]\ndevice = "no such speaker"\n'
    listening = listen_process(tmp_path, settings)
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

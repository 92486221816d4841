"""`listen` as systemd runs it, on the virtual sound card: ready, beating, a clean end. Time is real here."""

import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.audio.virtual_card import MICROPHONE, SPEAKER, virtual_card

__all__ = ["virtual_card"]

pytestmark = [pytest.mark.sound_card, pytest.mark.usefixtures("virtual_card")]


def test_listen_tells_systemd_that_it_is_ready_turns_and_ends(tmp_path: Path) -> None:
    settings = f'[microphone]\ndevice = "{MICROPHONE}"\n[speaker]\ndevice = "{SPEAKER}"\n'
    (tmp_path / "settings.toml").write_text(settings, encoding="utf-8")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as systemd:
        systemd.bind(str(tmp_path / "notify"))
        systemd.settimeout(60)
        watched = {"NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": "300000"}
        listening = subprocess.Popen(
            [sys.executable, "-m", "assistant", "--home", str(tmp_path), "listen", "--no-voice"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, **watched},
        )
        try:
            told = [systemd.recv(100), systemd.recv(100)]
        finally:
            listening.send_signal(signal.SIGTERM)
            status = listening.wait(timeout=30)
        while told[-1] != b"STOPPING=1":
            told.append(systemd.recv(100))
    assert told[:2] == [b"READY=1", b"WATCHDOG=1"]
    assert status == 0

"""A sound card without a card: a PulseAudio of our own with null sinks, seen by PortAudio through ALSA.

Four devices, found by name: what the program plays into `SPEAKER` comes out at `WITNESS`; what a test plays
into `COOK` comes out at `MICROPHONE`. Nothing of the user's own sound set-up is touched: the daemon has a
folder, a socket and an ALSA configuration of its own, and ends with the fixture.

For another folder's tests: `from tests.audio.virtual_card import virtual_card` in its conftest.py.
"""

import ctypes.util
import os
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, Queue

import pytest

from assistant.audio.sound_cards import portaudio

SPEAKER = "kitchen speaker"
WITNESS = "witness"
COOK = "cook"
MICROPHONE = "kitchen microphone"

LATENCY_S = 0.2
"""What the streams ask for; with it no underrun was seen."""

_ALSA = Path("/usr/share/alsa/alsa.conf")
_START_S = 20.0
_SINK = "rate=48000 channels=1 norewinds=1"
_MICROPHONE = "module-remap-source master=room.monitor source_name=microphone"
_MODULES = (
    f"module-null-sink sink_name=speaker {_SINK}",
    f"module-null-sink sink_name=room {_SINK}",
    "module-remap-source master=speaker.monitor source_name=witness",
    _MICROPHONE,
)
_PCMS = {SPEAKER: "speaker", WITNESS: "witness", COOK: "room", MICROPHONE: "microphone"}


@dataclass(frozen=True, slots=True)
class VirtualCard:
    """The running daemon: its socket, for `pactl`, and its process."""

    socket: Path
    daemon: "subprocess.Popen[str]"

    def control(self, *command: str) -> str:
        """Run pactl; its output."""
        environment = {**os.environ, "PULSE_SERVER": f"unix:{self.socket}"}
        return subprocess.run(
            ["pactl", *command], env=environment, check=True, capture_output=True, text=True, timeout=10
        ).stdout

    def pull_microphone(self) -> None:
        """Take the microphone's source away while it may be in use."""
        for line in self.control("list", "short", "modules").splitlines():
            number, name, arguments = line.split("\t")[:3]
            if name == "module-remap-source" and "source_name=microphone" in arguments:
                self.control("unload-module", number)

    def plug_microphone(self) -> None:
        """Bring it back."""
        self.control("load-module", *_MICROPHONE.split())

    def die(self) -> None:
        """End the daemon as a crash would."""
        self.daemon.kill()
        self.daemon.wait(timeout=10)


def rescan() -> None:
    """Make the PortAudio of this process look for devices again; its list is frozen until then."""
    library = portaudio()
    library._terminate()
    library._initialize()


def missing() -> str:
    """What this machine lacks for it; empty when nothing."""
    lacks = [
        f"{program} ({package})" for program, package in _PROGRAMS.items() if shutil.which(program) is None
    ]
    if ctypes.util.find_library("portaudio") is None:
        lacks.append("PortAudio (libportaudio2)")
    if not _ALSA.exists():
        lacks.append(f"{_ALSA} (libasound2-data)")
    if not any(Path("/usr/lib").glob("**/alsa-lib/libasound_module_pcm_pulse.so")):
        lacks.append("ALSA's PulseAudio plug-in (libasound2-plugins)")
    return ", ".join(lacks)


_PROGRAMS = {"pulseaudio": "pulseaudio", "pactl": "pulseaudio-utils"}


@contextmanager
def running_card(folder: Path) -> Iterator[VirtualCard]:
    """Start the daemon in `folder`, let PortAudio see it alone, and undo both."""
    socket = folder / "native"
    environment = {
        **os.environ,
        "HOME": str(folder),
        "XDG_RUNTIME_DIR": str(folder),
        "PULSE_RUNTIME_PATH": str(folder),
    }
    command = ["pulseaudio", "-n", "-v", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=300"]
    command += ["--log-target=stderr", f"--load=module-native-protocol-unix socket={socket} auth-anonymous=1"]
    command += [f"--load={module}" for module in _MODULES]
    daemon = subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, text=True, errors="replace")
    lines: Queue[str] = Queue()
    reader = threading.Thread(target=_read, args=(daemon, lines), daemon=True)
    reader.start()
    try:
        _wait_until_ready(lines)
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("ALSA_CONFIG_PATH", str(_configuration(folder, socket)))
            rescan()
            yield VirtualCard(socket, daemon)
    finally:
        rescan()
        daemon.terminate()
        try:
            daemon.wait(timeout=5)
        except subprocess.TimeoutExpired:
            daemon.kill()
            daemon.wait(timeout=5)
        reader.join(timeout=5)
        assert daemon.stderr is not None
        daemon.stderr.close()


def _read(daemon: "subprocess.Popen[str]", lines: Queue[str]) -> None:
    assert daemon.stderr is not None
    for line in daemon.stderr:
        lines.put(line.rstrip())
    lines.put("")


def _wait_until_ready(lines: Queue[str]) -> None:
    last = ""
    while True:
        try:
            line = lines.get(timeout=_START_S)
        except Empty:
            pytest.fail(f"PulseAudio isn't ready after {_START_S:.0f} s; last it said: {last}")
        if "Daemon startup complete" in line:
            return
        if not line:
            pytest.fail(f"PulseAudio ended while starting; last it said: {last}")
        last = line


def _configuration(folder: Path, socket: Path) -> Path:
    """An ALSA configuration with our four devices; without a hint PortAudio doesn't list them."""
    path = folder / "asound.conf"
    lines = [f"<{_ALSA}>"]
    for name, target in _PCMS.items():
        lines.append(f'pcm."{name}" {{ type pulse server "unix:{socket}" device "{target}"')
        lines.append(f'  hint {{ show on description "{name}" }} }}')
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@contextmanager
def in_a_hurry() -> Iterator[None]:
    """Sound waits for nobody: where that may be asked for, what is begun now goes before other tests' work.

    Otherwise a process that takes sound is late on two cores that two others keep busy, and loses some.
    """
    usual = os.getpriority(os.PRIO_PROCESS, 0)
    with suppress(PermissionError):
        os.setpriority(os.PRIO_PROCESS, 0, -10)
    try:
        yield
    finally:
        os.setpriority(os.PRIO_PROCESS, 0, usual)


@pytest.fixture(scope="module")
def virtual_card(tmp_path_factory: pytest.TempPathFactory) -> Iterator[VirtualCard]:
    """The card, for a module's tests; skips where something that it needs isn't installed."""
    if lacks := missing():
        pytest.skip(f"no virtual sound card: {lacks} not installed")
    with in_a_hurry(), running_card(tmp_path_factory.mktemp("card")) as card:
        yield card

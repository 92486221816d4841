"""An emulated arm64 machine with a card in it: power on, a root's shell, power off without warning."""

import re
import shutil
import socket
import subprocess
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tests.bench.guide.under_trial import UnderTrial

SHELL_S = 900.0
"""Longest wait for the machine's shell after power on; emulation is some twenty times slower than a board."""
COMMAND_S = 900.0
NO_MACHINE = 255
"""Status of a command that the machine never ended."""
MARK = "ended-"
_COLOUR = re.compile(r"\x1b\[[0-9;?]*[a-zA-Z]|\x1b\][^\x07]*\x07")


@dataclass(frozen=True)
class Card:
    """A card image (raw), and what is changed on it (`layer`, qcow2: the image stays as it was made)."""

    image: Path
    layer: Path

    def insert(self) -> None:
        """A card as it was made."""
        self.layer.unlink(missing_ok=True)
        self._run("qemu-img", "create", "-q", "-f", "qcow2", "-b", str(self.image.resolve()), "-F", "raw",
                  str(self.layer))  # fmt: skip

    def boot_files(self, folder: Path) -> str:
        """Kernel and initial system, as the board's firmware would find them; returns its command line."""
        offset = partition_offset(self._run("sfdisk", "--dump", str(self.image)), 1)
        drive = f"{self.image}@@{offset}"
        for name, pattern in (
            ("kernel", "vmlinuz-*"),
            ("initrd", "initrd.img-*"),
            ("cmdline", "cmdline.txt"),
        ):
            found = self._run("mdir", "-b", "-i", drive, f"::/{pattern}").split()
            self._run("mcopy", "-n", "-o", "-i", drive, found[-1], str(folder / name))
        return (folder / "cmdline").read_text(encoding="utf-8").strip()

    @staticmethod
    def _run(*command: str) -> str:
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def partition_offset(dump: str, number: int) -> int:
    """Bytes from the start of the card to a partition (from 1), by what `sfdisk --dump` says of it."""
    starts = re.findall(r"start=\s*(\d+)", dump)
    return 512 * int(starts[number - 1])


def answer_in(heard: str, mark: str) -> tuple[int, str] | None:
    """Status and text of a command in what its shell said, or None while it has not ended.

    The shell repeats what is typed; the mark is typed in two parts, so that only its own output has it whole.
    """
    begun = re.search(rf"begun-{mark}\r?\n", heard)
    ended = re.search(rf"{MARK}{mark} (\d+)", heard)
    if begun is None or ended is None:
        return None
    return int(ended[1]), _COLOUR.sub("", heard[begun.end() : ended.start()]).replace("\r", "").strip()


class Machine(UnderTrial):
    """Two cores, 2 GB, a card, a silent sound card, a wired network that only `ssh_port` here leads into.

    The firmware's own start, USB and pins are not there: kernel and command line are taken from the card.
    """

    def __init__(self, card: Card, folder: Path, ssh_port: int, cores: int = 2) -> None:
        super().__init__()
        self._card, self._folder, self._ssh_port, self._cores = card, folder, ssh_port, cores
        self._cmdline = card.boot_files(folder)
        self._commands = 0
        self._heard = ""

    @property
    def console(self) -> Path:
        """What the kernel and the services said on the serial line since power on."""
        return self._folder / "console.log"

    def power_on(self) -> None:
        """Start; returns when the root's shell answers. TimeoutError when it does not."""
        path = self._folder / "shell"
        path.unlink(missing_ok=True)
        append = f"{self._cmdline} console=ttyAMA0 systemd.debug_shell=hvc0"
        self._process = subprocess.Popen([
            "qemu-system-aarch64", "-M", "virt", "-cpu", "cortex-a72", "-smp", str(self._cores), "-m", "2048",
            "-accel", "tcg,thread=multi", "-display", "none", "-monitor", "none",
            "-serial", f"file:{self.console}",
            "-device", "virtio-serial-pci", "-chardev", f"socket,id=shell,path={path},server=on,wait=off",
            "-device", "virtconsole,chardev=shell",
            "-drive", f"file={self._card.layer},if=none,id=card,format=qcow2",
            "-device", "virtio-blk-pci,drive=card",
            "-nic", f"user,model=virtio-net-pci,restrict=on,hostfwd=tcp:127.0.0.1:{self._ssh_port}-:22",
            "-audiodev", "none,id=sound", "-device", "intel-hda", "-device", "hda-duplex,audiodev=sound",
            "-kernel", str(self._folder / "kernel"), "-initrd", str(self._folder / "initrd"),
            "-append", append,
        ], stdin=subprocess.DEVNULL)  # fmt: skip
        self._until(path.exists, 30)
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.connect(str(path))
        self._socket.settimeout(1)
        self._heard = ""

        def greeted() -> bool:
            self._type("\n")
            self._listen()
            return "# " in self._heard

        self._until(greeted, SHELL_S)
        self.sh("stty cols 500 -echo")

    def power_cut(self) -> None:
        """As if the plug were pulled: nothing in it ends in order."""
        self._process.kill()
        self._process.wait()
        self._socket.close()

    def power_off(self) -> float:
        """The system ends itself; the seconds that it took."""
        begin = time.perf_counter()
        self._type("systemctl poweroff\n")
        self._process.wait(COMMAND_S)
        self._socket.close()
        return time.perf_counter() - begin

    def sh(self, command: str, *, seconds: str = "") -> tuple[int, str]:
        """Run a command as root; 255 where it had not ended after `seconds`."""
        self._commands += 1
        mark = f"{self._commands:04d}"
        self._heard = ""
        self._type(f"echo begun-''{mark}; {{ {command}\n}} </dev/null 2>&1; echo {MARK}''{mark} $?\n")

        def ended() -> bool:
            self._listen()
            return answer_in(self._heard, mark) is not None

        with suppress(TimeoutError):
            self._until(ended, float(seconds or COMMAND_S))
        return answer_in(self._heard, mark) or (NO_MACHINE, self._heard)

    def _type(self, text: str) -> None:
        self._socket.sendall(text.encode())

    def _listen(self) -> None:
        with suppress(TimeoutError):
            self._heard += self._socket.recv(65536).decode(errors="replace")

    def _until(self, done: Callable[[], bool], seconds: float) -> None:
        begin = time.perf_counter()
        while not done():
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(0.2)
                raise TimeoutError(f"the machine ended by itself; its console is in {self.console}")
            if time.perf_counter() - begin > seconds:
                raise TimeoutError(f"no answer in {seconds:.0f} s; the console is in {self.console}")


def lacking() -> list[str]:
    """Debian's packages of the commands that are not here."""
    needed = {"qemu-system-aarch64": "qemu-system-arm", "qemu-img": "qemu-utils", "mcopy": "mtools",
              "sfdisk": "fdisk", "ssh": "openssh-client"}  # fmt: skip
    return [package for command, package in needed.items() if shutil.which(command) is None]

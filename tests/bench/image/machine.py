"""An emulated arm64 machine with a card in it: power on, a login, power off without warning."""

import re
import shutil
import subprocess
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tests.bench.guide.under_trial import UnderTrial

LOGIN_S = 900.0
"""Longest wait for the machine's login after power on; emulation is some twenty times slower than a board."""
COMMAND_S = 900.0
NO_MACHINE = 255
"""Status of a command that the machine never ended."""


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


class Machine(UnderTrial):
    """Two cores, 2 GB, a card, a silent sound card, a wired network that only `port` here leads into.

    `key`: of its login. The firmware's own start, USB and pins are not there: kernel and command line are
    taken from the card.
    """

    def __init__(self, card: Card, folder: Path, key: Path, port: int, cores: int = 2) -> None:
        super().__init__()
        self._card, self._folder, self._key, self._port, self._cores = card, folder, key, port, cores
        self._cmdline = card.boot_files(folder)

    @property
    def console(self) -> Path:
        """What the kernel and the services said on the serial line since power on."""
        return self._folder / "console.log"

    def power_on(self) -> None:
        """Start; returns when the login answers. TimeoutError when it does not."""
        self._process = subprocess.Popen([
            "qemu-system-aarch64", "-M", "virt", "-cpu", "cortex-a72", "-smp", str(self._cores), "-m", "2048",
            "-accel", "tcg,thread=multi", "-display", "none", "-monitor", "none",
            "-serial", f"file:{self.console}",
            "-drive", f"file={self._card.layer},if=none,id=card,format=qcow2",
            "-device", "virtio-blk-pci,drive=card",
            "-netdev", f"user,id=wire,restrict=on,hostfwd=tcp:127.0.0.1:{self._port}-:22",
            "-device", "virtio-net-pci,netdev=wire,romfile=",
            "-audiodev", "none,id=sound", "-device", "intel-hda", "-device", "hda-duplex,audiodev=sound",
            "-kernel", str(self._folder / "kernel"), "-initrd", str(self._folder / "initrd"),
            "-append", f"{self._cmdline} console=ttyAMA0",
        ], stdin=subprocess.DEVNULL)  # fmt: skip
        begin = time.perf_counter()
        while self.sh("true", seconds="60")[0] != 0:
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(1)
                raise TimeoutError(f"the machine ended by itself; its console is in {self.console}")
            if time.perf_counter() - begin > LOGIN_S:
                raise TimeoutError(f"no login in {LOGIN_S:.0f} s; the console is in {self.console}")

    def power_cut(self) -> None:
        """As if the plug were pulled: nothing in it ends in order."""
        self._process.kill()
        self._process.wait()

    def power_off(self) -> float:
        """The system ends itself; the seconds that it took."""
        begin = time.perf_counter()
        self.sh("systemctl poweroff")
        self._process.wait(COMMAND_S)
        return time.perf_counter() - begin

    def sh(self, command: str, *, user: str = "root", seconds: str = "") -> tuple[int, str]:
        """Run a command as root, or as `chef`, who logs in; 255 where it had not ended after `seconds`."""
        login = [
            "ssh", "-i", str(self._key), "-p", str(self._port), "-o", "StrictHostKeyChecking=no",
            "-o", "UserKnownHostsFile=/dev/null", "-o", "LogLevel=ERROR", "-o", "BatchMode=yes",
            "-o", "ConnectTimeout=20", "chef@127.0.0.1",
            *(["sudo", "bash", "-s"] if user == "root" else ["bash", "-s"]),
        ]  # fmt: skip
        try:
            ran = subprocess.run(
                login,
                input=f"{{ {command}\n}} </dev/null 2>&1\n",
                capture_output=True,
                text=True,
                check=False,
                timeout=float(seconds or COMMAND_S),
            )
        except subprocess.TimeoutExpired:
            return NO_MACHINE, "it had not ended in time"
        return ran.returncode, (ran.stdout + ran.stderr).strip()


def lacking() -> list[str]:
    """Debian's packages of the commands that are not here."""
    needed = {"qemu-system-aarch64": "qemu-system-arm", "qemu-img": "qemu-utils", "mcopy": "mtools",
              "sfdisk": "fdisk", "ssh": "openssh-client"}  # fmt: skip
    return [package for command, package in needed.items() if shutil.which(command) is None]

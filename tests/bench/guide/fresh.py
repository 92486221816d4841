"""A fresh Debian below a folder, in an overlay that leaves this machine as it is."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.bench.guide.under_trial import UnderTrial

TOP = Path(__file__).parents[3]
CHECKOUT = str(Path("/home") / "chef" / "crumbcall")
NULL_CARD = """pcm.!default { type null }
ctl.!default { type null }
pcm.mic { type null hint { show on description "USB microphone" } }
"""
"""A sound card that takes everything and sends noise that means nothing."""


class Fresh(UnderTrial):
    """A fresh system below `root`."""

    def __init__(self, root: Path) -> None:
        super().__init__()
        self.root = root

    def sh(
        self, command: str, *, user: str = "chef", folder: str = CHECKOUT, typed: str = ""
    ) -> tuple[int, str]:
        """Run a command as this user would; its status, and what it printed."""
        line = f"cd {folder} && {command}"
        login = ["su", "-", user, "-c", line]
        ran = subprocess.run(
            ["chroot", str(self.root), *login], input=typed, capture_output=True, text=True, check=False
        )
        return ran.returncode, (ran.stdout + ran.stderr).strip()


def prepare(root: Path) -> Fresh:
    """A user with sudo, this machine's way to the registries, a sound card, the stand-in."""
    for folder in (
        "etc/sudoers.d",
        "usr/local/share/ca-certificates",
        "usr/local/sbin",
        "run/systemd/system",
    ):
        (root / folder).mkdir(parents=True, exist_ok=True)
    for file in ("etc/resolv.conf", "etc/pip.conf"):
        if Path("/", file).exists():
            shutil.copy(Path("/", file), root / file)
    for certificate in Path("/usr/local/share/ca-certificates").glob("*.crt"):
        shutil.copy(certificate, root / "usr/local/share/ca-certificates")
    (root / "etc/hosts").write_text(f"127.0.0.1 localhost {os.uname().nodename}\n")
    fresh = Fresh(root)
    fresh.sh(
        "update-ca-certificates; useradd -m -s /bin/bash chef; useradd -m guest", user="root", folder="/"
    )
    (root / "etc/sudoers.d/chef").write_text("chef ALL=(ALL) NOPASSWD: ALL\n")
    (root / "etc/asound.conf").write_text(NULL_CARD)
    stand_in = Path(__file__).with_name("stand_in.py").read_text(encoding="utf-8")
    tools = {
        "usr/local/sbin/systemctl": stand_in,
        "usr/local/bin/journalctl": "#!/bin/sh\ncat /var/log/stand-in.log\n",
    }
    for name, text in tools.items():
        (root / name).write_text(text, encoding="utf-8")
        (root / name).chmod(0o755)
    names = subprocess.run(
        ["git", "-C", str(TOP), "ls-files", "-z"], capture_output=True, text=True, check=True
    ).stdout
    for name in filter(None, names.split("\0")):
        target = root / CHECKOUT[1:] / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(TOP / name, target)
    fresh.sh(f"chown -R chef:chef {CHECKOUT}", user="root", folder="/")
    return fresh


def in_fresh_system(base: Path, work_through: Callable[[Fresh], None]) -> list[tuple[str, str, str]]:
    """All of it on an overlay of this system, in mounts that end with this process (see `unshared`)."""
    with tempfile.TemporaryDirectory() as scratch:
        root, upper, work = (Path(scratch, name) for name in ("root", "upper", "work"))
        for folder in (root, upper, work):
            folder.mkdir()
        layers = f"lowerdir={base},upperdir={upper},workdir={work}"
        mounts = (
            ["-t", "overlay", "overlay", "-o", layers, str(root)],
            ["-t", "proc", "proc", f"{root}/proc"],
            ["--bind", "/dev", f"{root}/dev"],
            ["-t", "tmpfs", "tmpfs", f"{root}/run"],
        )
        for mount in mounts:
            subprocess.run(["mount", *mount], check=True)
        try:
            fresh = prepare(root)
            work_through(fresh)
            fresh.sh("pkill -u crumbcall", user="root", folder="/")
            return fresh.rows
        finally:
            subprocess.run(["umount", "--recursive", "--lazy", str(root)], check=False)


def unshared(module: str) -> None:
    """Go on in namespaces of mounts and processes that end with it; returns there alone."""
    if "CRUMBCALL_UNSHARED" in os.environ:
        return
    command = ["unshare", "--mount", "--pid", "--fork", sys.executable, "-m", module, *sys.argv[1:]]
    sys.exit(subprocess.run(command, env=os.environ | {"CRUMBCALL_UNSHARED": "1"}, check=False).returncode)

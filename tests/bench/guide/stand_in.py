#!/usr/bin/python3
"""Stands in for `systemctl` in a root folder where no systemd runs: starts and stops what the real units say.

Of a unit it takes Type, User, WorkingDirectory, Environment, ExecStart and ExecStopPost; its confinement is
not there, which `systemd-analyze` judges instead. A program that has not said READY=1 has not started.
"""

import os
import pwd
import shlex
import signal
import socket
import subprocess
import sys
from pathlib import Path

UNITS = Path("/etc/systemd/system")
RUN = Path("/run/stand-in")
LOG = Path("/var/log/stand-in.log")
READY_S = 120


def read(unit: str) -> dict[str, list[str]]:
    """Settings of a unit, each with all its values."""
    found: dict[str, list[str]] = {}
    for line in (UNITS / unit).read_text().splitlines():
        key, equals, value = line.partition("=")
        if equals and not line.startswith("#"):
            found.setdefault(key, []).append(value)
    return found


def started(unit: str) -> bool:
    settings = read(unit)
    user = pwd.getpwnam(settings["User"][0])
    folder = settings.get("WorkingDirectory", ["/"])[0]
    Path(folder).mkdir(parents=True, exist_ok=True)
    os.chown(folder, user.pw_uid, user.pw_gid)
    environment = {"PATH": "/usr/bin:/bin", "HOME": user.pw_dir}
    environment |= dict(
        word.split("=", 1) for line in settings.get("Environment", []) for word in shlex.split(line)
    )
    told = RUN / f"{unit}.notify"
    told.unlink(missing_ok=True)
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(str(told))
        os.chown(told, user.pw_uid, user.pw_gid)
        listening.settimeout(0.5)
        with LOG.open("a") as log:
            program = subprocess.Popen(
                shlex.split(settings["ExecStart"][0]),
                stdout=log, stderr=log, stdin=subprocess.DEVNULL, cwd=folder,
                env=environment | {"NOTIFY_SOCKET": str(told)}, user=user.pw_name, group=user.pw_gid,
                extra_groups=os.getgrouplist(user.pw_name, user.pw_gid), start_new_session=True, umask=0o077,
            )  # fmt: skip
        (RUN / unit).write_text(str(program.pid))
        waits = 2 * READY_S if settings.get("Type") == ["notify"] else 10
        for _ in range(waits):
            if program.poll() is not None:
                return False
            try:
                if listening.recv(200).startswith(b"READY=1"):
                    return True
            except TimeoutError:
                continue
    return settings.get("Type") != ["notify"]


def active(unit: str) -> bool:
    try:
        pid = int((RUN / unit).read_text())
        return "State:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except (OSError, ValueError):
        return False


def stopped(unit: str) -> None:
    if active(unit):
        pid = int((RUN / unit).read_text())
        os.kill(pid, signal.SIGTERM)
        for _ in range(60):
            if not active(unit):
                break
            subprocess.run(["sleep", "0.25"], check=False)
    (RUN / unit).unlink(missing_ok=True)
    if (UNITS / unit).exists():
        for after in read(unit).get("ExecStopPost", []):
            subprocess.run(shlex.split(after.removeprefix("-")), check=False)


def main(words: list[str]) -> int:
    RUN.mkdir(exist_ok=True)
    RUN.chmod(0o711)
    what, *units = [word for word in words if not word.startswith("--")]
    units = [unit if "." in unit else f"{unit}.service" for unit in units]
    if what == "is-active":
        print("active" if active(units[0]) else "inactive")
        return 0 if active(units[0]) else 3
    if what in ("stop", "restart") or ("--now" in words and what == "disable"):
        for unit in units:
            stopped(unit)
    if what in ("start", "restart") or ("--now" in words and what == "enable"):
        came_up = [started(unit) for unit in units]
        return 0 if all(came_up) else 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

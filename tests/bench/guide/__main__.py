"""Follows the guide of hardware/README.md on a fresh Debian: `python -m tests.bench.guide trixie`.

Needs root, debootstrap and the package registries. The fresh system is an overlay over what debootstrap made,
so that this machine stays as it is. No systemd runs in it: `stand_in.py` starts the real program as the units
say, and `systemd-analyze` judges the units.
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from assistant.clock import RealClock

TOP = Path(__file__).parents[3]
GUIDE = "## From shopping to the first batch"
CHECKOUT = str(Path("/home") / "chef" / "crumbcall")
ANSWERS = {"crumbcall setup": "Test kitchen\n\n2500 g\n\n\ny\n\ny\nskip\nskip\ncard.pdf\n"}
"""What is typed at the guide's command that asks: house, language, hopper, no recipe, microphone, speaker, no
scale, no hearing test, the card."""
BATCH = "new batch two thousand\nwater four fifty\nmix two minutes\ncrumb ready\nclose batch\nyes\n"
NULL_CARD = """pcm.!default { type null }
ctl.!default { type null }
pcm.mic { type null hint { show on description "USB microphone" } }
"""
"""A sound card that takes everything and sends noise that means nothing."""
MARK = "broken on purpose"
NEWER = f"""
import sqlite3
with sqlite3.connect("/var/lib/crumbcall/journal.sqlite") as db:
    db.execute("PRAGMA user_version = 999")
raise SystemExit("{MARK}")
"""
"""What a new version does to the journal before it fails: no version before can read it."""


def commands_of(guide: str) -> list[str]:
    """The commands of the guide, in their order: indented lines of its section."""
    section = guide.partition(GUIDE)[2].partition("\n## ")[0]
    return re.findall(r"^ {7}(\S.*)$", section, re.MULTILINE)


@dataclass
class Fresh:
    """A fresh system below `root`; `rows` is what was found."""

    root: Path
    rows: list[tuple[str, str, str]] = field(default_factory=list)

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

    def row(self, what: str, good: bool, found: str) -> None:
        """Note one result, and print it."""
        line = found.splitlines()[-1] if found else ""
        self.rows.append((what, "yes" if good else "NO", line.replace("|", "/")[:110]))
        print(f"{'ok ' if good else 'NO '} {what}: {line}", flush=True)
        if not good:
            print(found[-3000:], flush=True)

    def expect(self, what: str, command: str, status: int = 0, holds: str = "", **how: str) -> str:
        """Run a command that should end with this status and print this."""
        begin = time.perf_counter()
        found_status, found = self.sh(command, **how)
        took = f" ({time.perf_counter() - begin:.0f} s)"
        self.row(what, found_status == status and holds in found, f"{found}{took}")
        return found


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


def follow(fresh: Fresh) -> None:
    """The guide's commands, then what it says beside them."""
    for command in commands_of((TOP / "hardware/README.md").read_text(encoding="utf-8")):
        fresh.expect(f"guide: `{command}`", command, typed=ANSWERS.get(command, ""))
    settings = (fresh.root / "var/lib/crumbcall/settings.toml").read_text()
    fresh.row(
        "setup wrote the answers", 'id = "Test kitchen"' in settings and "2500" in settings, "settings.toml"
    )
    fresh.row("the card is written", (fresh.root / "srv/crumbcall/card.pdf").is_file(), "card.pdf")
    fresh.sh("systemctl stop crumbcall", user="root", folder="/")
    fresh.expect("a batch is typed by the cook's own user", "crumbcall type", typed=BATCH)
    fresh.expect("`crumbcall sheet` without sudo", "crumbcall sheet", holds="450 g")
    fresh.expect(
        "a stranger may not look", "cat /var/lib/crumbcall/journal.sqlite", 1, user="guest", folder="/"
    )
    fresh.expect("and hears how to be let in", "crumbcall sheet", 2, "log in again", user="guest", folder="/")
    fresh.expect("nor may the cook's user open the file", "cat /var/lib/crumbcall/journal.sqlite", 1)
    fresh.expect(
        "support bundle", "journalctl | crumbcall support --log - b.zip && test -s /srv/crumbcall/b.zip"
    )
    fresh.sh("systemctl start crumbcall crumbcall-board", user="root", folder="/")
    for unit in ("crumbcall", "crumbcall-board"):
        file = f"/etc/systemd/system/{unit}.service"
        fresh.expect(
            f"{unit}: systemd-analyze verify", f"systemd-analyze verify {file}", user="root", folder="/"
        )
        score = f"systemd-analyze security --offline=true --threshold=20 --no-pager {file}"
        fresh.expect(f"{unit}: exposure at most 2.0", score, user="root", folder="/")


def update(fresh: Fresh) -> None:
    """Again, a newer version, one that does not start, one that fails its trial, and away with it."""
    station = "sudo bash hardware/setup.sh --station"
    before = os.readlink(fresh.root / "usr/local/lib/crumbcall/current")
    fresh.expect("given again, nothing changes", station, holds="nothing to change")
    fresh.sh("sed -i 's/^version = .*/version = \"0.1.1\"/' pyproject.toml")
    fresh.expect("an update takes over", station, holds="version 0.1.1 runs")
    newer = os.readlink(fresh.root / "usr/local/lib/crumbcall/current")
    fresh.row("the version before is kept", newer != before and (fresh.root / before[1:]).is_dir(), newer)
    listen = fresh.root / CHECKOUT[1:] / "assistant/cli/listen.py"
    whole = listen.read_text(encoding="utf-8")
    listen.write_text(whole + NEWER, encoding="utf-8")
    told = fresh.expect(
        "one that does not start is taken back", station, 1, "the one before was put back and active"
    )
    fresh.row(
        "with the journal as it was, and what it wrote kept", "it is kept in" in told, "the line before"
    )
    now = os.readlink(fresh.root / "usr/local/lib/crumbcall/current")
    fresh.row("the version before runs", now == newer, now)
    listen.write_text(whole, encoding="utf-8")
    rehearse = fresh.root / CHECKOUT[1:] / "assistant/cli/rehearse.py"
    rehearse.write_text(f"raise SystemExit('{MARK}')\n", encoding="utf-8")
    fresh.expect("one that fails its trial never takes over", station, 1, "Nothing was changed")
    fresh.row("what ran runs on", os.readlink(fresh.root / "usr/local/lib/crumbcall/current") == newer, newer)
    left = sorted(folder.name for folder in (fresh.root / "usr/local/lib/crumbcall/releases").iterdir())
    fresh.row("what failed is taken off the card", len(left) == 2, ", ".join(left))
    fresh.expect("the record is whole", "crumbcall ledger check", holds="the same state")
    fresh.expect("uninstall", "sudo bash hardware/setup.sh --uninstall", holds="stay")
    left = [name for name in ("usr/local/lib/crumbcall", "usr/local/bin/crumbcall", "etc/sudoers.d/crumbcall")
            if (fresh.root / name).exists()]  # fmt: skip
    kept = (fresh.root / "var/lib/crumbcall/journal.sqlite").is_file()
    fresh.row("nothing but the record is left", not left and kept, ", ".join(left) or "journal.sqlite")


def in_fresh_system(suite: str, base: Path) -> list[tuple[str, str, str]]:
    """All of it, in mounts that end with this process (`unshare` began them)."""
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
            print(f"On {suite}:", flush=True)
            follow(fresh)
            update(fresh)
            fresh.sh("pkill -u crumbcall", user="root", folder="/")
            return fresh.rows
        finally:
            subprocess.run(["umount", "--recursive", "--lazy", str(root)], check=False)


def main() -> None:
    """Make the system where it is not there yet, go through the guide, write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("suite", nargs="?", default="bookworm", choices=["bookworm", "trixie"])
    parser.add_argument(
        "--base", type=Path, help="Folder of a system that debootstrap made; made where it is not."
    )
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    if "CRUMBCALL_UNSHARED" not in os.environ:
        command = [
            "unshare",
            "--mount",
            "--pid",
            "--fork",
            sys.executable,
            "-m",
            "tests.bench.guide",
            *sys.argv[1:],
        ]
        sys.exit(
            subprocess.run(command, env=os.environ | {"CRUMBCALL_UNSHARED": "1"}, check=False).returncode
        )
    base: Path = options.base or Path(tempfile.gettempdir(), f"crumbcall-{options.suite}")
    if not (base / "etc/os-release").exists():
        include = "--include=ca-certificates,sudo,systemd,procps"
        subprocess.run(["debootstrap", "--variant=minbase", include, options.suite, str(base)], check=True)
    rows = in_fresh_system(options.suite, base)
    if options.out:
        day = datetime.fromtimestamp(RealClock().wall(), UTC).date()
        lines = [f"## {options.suite}, {day}", "", "| what | as it should | last line |", "|---|---|---|"]
        lines += [f"| {' | '.join(row)} |" for row in rows]
        with options.out.open("a", encoding="utf-8") as written:
            written.write("\n".join([*lines, "", ""]))
    sys.exit(any(good == "NO" for _, good, _ in rows))


if __name__ == "__main__":
    main()

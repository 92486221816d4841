"""Follows the guide of hardware/README.md on a fresh Debian: `python -m tests.bench.guide trixie`.

Needs root, debootstrap and the package registries. The fresh system is an overlay over what debootstrap made,
so that this machine stays as it is. No systemd runs in it: `stand_in.py` starts the real program as the units
say, and `systemd-analyze` judges the units.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.guide.fresh import CHECKOUT, TOP, Fresh, in_fresh_system, unshared
from tests.bench.guide.under_trial import write_rows

GUIDE = "## From shopping to the first batch"
ANSWERS = {"crumbcall setup": "Test kitchen\n\n2500 g\n\n\ny\n\ny\nskip\nskip\ncard.pdf\n"}
"""What is typed at the guide's command that asks: house, language, hopper, no recipe, microphone, speaker, no
scale, no hearing test, the card."""
BATCH = "new batch two thousand\nwater four fifty\nmix two minutes\ncrumb ready\nclose batch\nyes\n"
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
    for unit in ("crumbcall", "crumbcall-board", "crumbcall-sync"):
        file = f"/etc/systemd/system/{unit}.service"
        fresh.expect(
            f"{unit}: systemd-analyze verify", f"systemd-analyze verify {file}", user="root", folder="/"
        )
        score = f"systemd-analyze security --offline=true --threshold=10 --no-pager {file}"
        fresh.expect(f"{unit}: exposure at most 1.0", score, user="root", folder="/")


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


def whole_guide(fresh: Fresh) -> None:
    """The guide, then updates."""
    follow(fresh)
    update(fresh)


def main() -> None:
    """Make the system where it is not there yet, go through the guide, write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("suite", nargs="?", default="bookworm", choices=["bookworm", "trixie"])
    parser.add_argument(
        "--base", type=Path, help="Folder of a system that debootstrap made; made where it is not."
    )
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    unshared("tests.bench.guide")
    base: Path = options.base or Path(tempfile.gettempdir(), f"crumbcall-{options.suite}")
    if not (base / "etc/os-release").exists():
        include = "--include=ca-certificates,sudo,systemd,procps"
        subprocess.run(["debootstrap", "--variant=minbase", include, options.suite, str(base)], check=True)
    rows = in_fresh_system(base, whole_guide)
    if options.out:
        write_rows(options.out, options.suite, rows)
    sys.exit(any(good == "NO" for _, good, _ in rows))


if __name__ == "__main__":
    main()

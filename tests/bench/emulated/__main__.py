"""Sets the program up on emulated arm64, and compares what it hears with what this machine hears.

`python -m tests.bench.emulated bookworm trixie` needs root, mmdebstrap, qemu-user-static with
binfmt-support, and the package registries. On each fresh Debian: hardware/setup.sh,
`crumbcall rehearse`, and `crumbcall hear --json` of 40 files, which must be byte for byte what this machine
prints. How long it takes there says nothing of a Pi; `--count` counts the instructions of answers, which do.
"""

import argparse
import platform
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.emulated import instructions
from tests.bench.emulated.sounds import write_sounds
from tests.bench.guide.fresh import CHECKOUT, Fresh, in_fresh_system, unshared
from tests.bench.guide.under_trial import write_rows

SUITES = ("bookworm", "trixie")
MACHINE = "aarch64"
NEEDED = {"mmdebstrap": "mmdebstrap", "qemu-aarch64-static": "qemu-user-static binfmt-support"}
"""A command, and the packages that bring it."""


def missing() -> str:
    """One line about what this machine lacks; empty where nothing is."""
    lacking = [package for command, package in NEEDED.items() if shutil.which(command) is None]
    if lacking:
        return f"found no {' '.join(lacking)}; run: apt-get install {' '.join(lacking)}"
    kinds = Path("/proc/sys/fs/binfmt_misc")
    if platform.machine() != MACHINE and not (kinds / "qemu-aarch64").exists():
        return f"found no {kinds}/qemu-aarch64; run: update-binfmts --enable qemu-aarch64"
    return ""


def made(suite: str, base: Path) -> Path:
    """A minimal arm64 Debian in this folder; made where it is not there."""
    if not (base / "etc/os-release").exists():
        half = base.with_suffix(".part")
        include = "--include=ca-certificates,sudo,procps"
        subprocess.run(
            ["mmdebstrap", "--arch=arm64", "--variant=minbase", include, suite, str(half)], check=True
        )
        half.rename(base)
    return base


def heard_here(sounds: Path, scratch: Path) -> str:
    """What this machine's own Python prints of the files."""
    files = sorted(file.name for file in sounds.iterdir())
    command = [sys.executable, "-m", "assistant", "--home", str(scratch / "home"), "hear", "--json", *files]
    return subprocess.run(command, cwd=sounds, capture_output=True, text=True, check=True).stdout


def emulated(fresh: Fresh, sounds: Path, reference: str) -> None:
    """Set up, rehearse, hear; each is a row."""
    fresh.expect("the machine is an arm64", "uname -m", holds=MACHINE)
    fresh.expect("it has no compiler", "! command -v gcc cc c++ clang")
    # By root: an emulated sudo has no rights, since Debian has binfmt pass no credentials on.
    fresh.expect("guide: `bash hardware/setup.sh`", "bash hardware/setup.sh", holds="4/4 ready", user="root")
    fresh.expect("its Python", ".venv/bin/python -c 'import sys; print(sys.version)'")
    shutil.copytree(sounds, fresh.root / CHECKOUT[1:] / "sounds")
    status, told = fresh.sh("cd sounds && ../.venv/bin/crumbcall --home /tmp/home hear --json *.wav")
    ours, theirs = reference.splitlines(), told.splitlines()
    same = sum(line in theirs for line in ours)
    fresh.row(
        f"{len(ours)} files heard byte for byte as on {platform.machine()}",
        status == 0 and ours == theirs,
        f"{same} of {len(ours)} lines are the same",
    )
    fresh.expect("`crumbcall rehearse`", ".venv/bin/crumbcall --home /tmp/home rehearse", holds="Batch sheet")


def write_counted(counted: list[tuple[str, str, str]], out: Path | None) -> None:
    """Print the instructions, and add them to a file."""
    lines = ["| millions of instructions | counted | by the model |", "|---|---|---|"]
    lines += [f"| {' | '.join(row)} |" for row in counted]
    print("\n".join(lines), flush=True)
    if out:
        with out.open("a", encoding="utf-8") as written:
            written.write("\n".join([*lines, "", ""]))


def main() -> None:
    """Go through the suites, write a table of each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("suites", nargs="*", default=SUITES, choices=SUITES, metavar="SUITE")
    parser.add_argument("--bases", type=Path, default=Path(tempfile.gettempdir(), "crumbcall-arm64"))
    parser.add_argument("--count", action="store_true", help="Count the instructions of the answers too.")
    parser.add_argument("--out", type=Path, help="File that the tables are added to.")
    options = parser.parse_args()
    if lack := missing():
        sys.exit(lack)
    if options.count and (commands := instructions.lacking()):
        sys.exit(f"found no {', '.join(commands)}; run: apt-get install qemu-user gcc")
    unshared("tests.bench.emulated")
    options.bases.mkdir(parents=True, exist_ok=True)
    good = True
    with tempfile.TemporaryDirectory() as scratch:
        sounds = Path(scratch, "sounds")
        write_sounds(sounds)
        reference = heard_here(sounds, Path(scratch))
        for suite in options.suites:
            print(f"On {suite}, arm64, emulated:", flush=True)
            base = made(suite, options.bases / suite)
            counted: list[tuple[str, str, str]] = []

            def go(fresh: Fresh, counted: list[tuple[str, str, str]] = counted) -> None:
                emulated(fresh, sounds, reference)
                if options.count:
                    quiet = sorted(sounds.glob("*-quiet.wav"))
                    there = instructions.counted_there(fresh, [file.name for file in quiet])
                    counted += instructions.rows(there, instructions.timed_here(quiet))

            rows = in_fresh_system(base, go)
            good &= all(row[1] == "yes" for row in rows)
            if options.out:
                write_rows(options.out, f"{suite} on arm64", rows)
            if counted:
                write_counted(counted, options.out)
    sys.exit(not good)


if __name__ == "__main__":
    main()

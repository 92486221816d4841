"""Instructions of answers on emulated arm64, and what the model of `crumbcall bench` makes of them here.

Needs QEMU's user mode with plugins (Debian's package qemu-user) and gcc on this machine.
"""

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from assistant.app.pi_model import ARITHMETIC_INSTRUCTIONS, INTERPRETING_INSTRUCTIONS
from tests.bench.emulated.work import ANSWERS, REFERENCES
from tests.bench.guide.fresh import CHECKOUT, TOP, Fresh

NEEDED = ("qemu-aarch64", "gcc")
FOLDER = "/tmp/count"
COUNTS = f"{FOLDER}/counts"


@dataclass(frozen=True, slots=True)
class Counted:
    """Medians between marks, in instructions or nanoseconds."""

    arithmetic: float
    interpreting: float
    network: float
    search: float
    after: float


def read_marks(text: str) -> Counted:
    """Medians from lines of a mark and what was counted until then."""
    at = {int(mark): int(count) for mark, count in (line.split() for line in text.splitlines())}
    references = [at[2 * n + 1] - at[2 * n] for n in range(2 * REFERENCES)]
    firsts = [mark for mark in at if mark >= ANSWERS and (mark - ANSWERS) % 4 == 0 and mark + 3 in at]
    parts = [[at[mark + n + 1] - at[mark + n] for n in range(3)] for mark in firsts]
    return Counted(
        arithmetic=min(references[:REFERENCES]),
        interpreting=min(references[REFERENCES:]),
        network=median(part[0] for part in parts),
        search=median(part[1] - part[0] for part in parts),
        after=median(part[2] for part in parts),
    )


def timed_here(files: list[Path]) -> Counted:
    """The same work by this machine's clock."""
    command = [sys.executable, "-m", "tests.bench.emulated.work", "time", *map(str, files)]
    return read_marks(subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=True).stdout)


def counted_there(fresh: Fresh, names: list[str]) -> Counted:
    """The work in the emulated system, whose program is set up; `names` are files in its folder sounds."""
    qemu = shutil.which("qemu-aarch64")
    assert qemu is not None, "see `lacking`"
    folder = fresh.root / FOLDER[1:]
    folder.mkdir()
    folder.chmod(0o777)
    libraries = subprocess.run(["ldd", qemu], capture_output=True, text=True, check=True).stdout
    for library in (qemu, *re.findall(r"(/\S+)", libraries)):
        shutil.copy(library, folder)
    plugin = folder / "count.so"
    source = Path(__file__).with_name("count.c")
    subprocess.run(
        ["gcc", "-O2", "-Wall", "-Wextra", "-shared", "-fPIC", "-o", str(plugin), str(source)], check=True
    )
    # This machine's own QEMU, with its own libraries, inside the other system's folder.
    emulator = f"{FOLDER}/ld-linux-x86-64.so.2 --library-path {FOLDER} {FOLDER}/qemu-aarch64 -cpu cortex-a72"
    environment = "PYTHONPATH=. OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1"
    files = " ".join(f"sounds/{name}" for name in names)
    status, told = fresh.sh(
        f"{environment} {emulator} -plugin {FOLDER}/count.so,out={COUNTS} "
        f".venv/bin/python -m tests.bench.emulated.work count {files}",
        folder=CHECKOUT,
    )
    if status != 0:
        raise SystemExit(f"counting ended with {status}: {told[-500:]}")
    return read_marks((fresh.root / COUNTS[1:]).read_text())


def rows(there: Counted, here: Counted) -> list[tuple[str, str, str]]:
    """Counted instructions beside what the model makes of this machine's times, in millions."""
    arithmetic = there.arithmetic / here.arithmetic
    interpreting = there.interpreting / here.interpreting
    table = [
        ("reference: arithmetic", there.arithmetic, float(ARITHMETIC_INSTRUCTIONS)),
        ("reference: interpreting", there.interpreting, float(INTERPRETING_INSTRUCTIONS)),
        ("network, median answer", there.network, here.network * arithmetic),
        ("search, median answer", there.search, here.search * interpreting),
        ("decide, commit, first sound, median answer", there.after, here.after * interpreting),
    ]
    return [(what, f"{counted / 1e6:.1f}", f"{model / 1e6:.1f}") for what, counted, model in table]


def lacking() -> list[str]:
    """Commands that counting needs and this machine has not."""
    return [command for command in NEEDED if shutil.which(command, path=os.environ["PATH"]) is None]

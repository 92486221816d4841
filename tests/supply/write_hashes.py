"""Writes the requirements with the hash of every file from the pins: `python -m tests.supply.write_hashes`.

Needs `uv` (pip install uv; its path may be given) and the package index. The pins are those of
hardware/constraints.txt; what is written holds for every Python from 3.11 on, on amd64 and arm64.
"""

import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[2]
HARDWARE = TOP / "hardware"
PLAIN = ("board", "export", "paper", "sync")
FILES: dict[str, tuple[str, ...]] = {
    "requirements-build.txt": (),
    "requirements.txt": PLAIN,
    "requirements-dev.txt": (*PLAIN, "dev"),
}
"""Each file and the extras that it is of, as `setup.sh` installs them."""
BUILDERS = "editables\nhatchling\nsetuptools\n"
"""Build backends of this project (--dev needs editables) and of the few libraries without a wheel. Installed
first, by their hashes; nothing is fetched while something is built."""


def written(extras: tuple[str, ...], uv: str = "uv") -> str:
    """The requirements of the program and these extras, of none: the build backends.

    Raises CalledProcessError.
    """
    command = [
        uv,
        "pip",
        "compile",
        "--quiet",
        "--universal",
        "--python-version",
        "3.11",
        "--generate-hashes",
    ]
    command += ["--no-annotate", "--no-header", "--constraint", str(HARDWARE / "constraints.txt")]
    command += [word for extra in extras for word in ("--extra", extra)]
    command += [str(TOP / "pyproject.toml")] if extras else ["-"]
    return subprocess.run(command, input=BUILDERS, capture_output=True, text=True, check=True).stdout


def main() -> None:
    """Write the files."""
    for name, extras in FILES.items():
        head = (
            "# Written by `python -m tests.supply.write_hashes`: every file that pip may take, by its hash.\n"
        )
        (HARDWARE / name).write_text(head + written(extras, *sys.argv[1:]), encoding="utf-8")


if __name__ == "__main__":
    main()

"""Are there known weaknesses in what is installed? `python -m tests.supply.audit`.

The pinned libraries of hardware/requirements.txt are asked about, by pip-audit, in an environment of its own.
What no advisory source answered for was **not** audited, and that is said: silence would read as all clear.
The status is 1 where a weakness is known, else 0. `--sbom FILE` writes a bill of materials instead.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import venv
from pathlib import Path
from typing import Any

TOP = Path(__file__).parents[2]
REQUIREMENTS = TOP / "hardware/requirements.txt"
TOOLS = ("pip-audit==2.10.1", "cyclonedx-bom==7.5.0")
LIMIT_S = 300


def verdict(found: dict[str, Any]) -> tuple[list[str], int]:
    """What to print of pip-audit's answer, and the exit status."""
    asked: list[dict[str, Any]] = found["dependencies"]
    unread = [one["name"] for one in asked if "skip_reason" in one]
    known = [(one, weak) for one in asked for weak in one.get("vulns", [])]
    lines = [
        f"{one['name']} {one['version']}: {weak['id']}, mended in {', '.join(weak['fix_versions']) or 'none'}"
        for one, weak in known
    ]
    if len(unread) == len(asked):
        lines.append(f"NOT AUDITED: no advisory source answered for any of {len(asked)} libraries.")
    else:
        lines.append(
            f"{len(asked) - len(unread)} of {len(asked)} libraries audited, {len(known)} weaknesses known."
        )
        lines += [f"NOT AUDITED: {', '.join(unread)}"] if unread else []
    return lines, 1 if known else 0


def _environment(folder: Path) -> Path:
    """Make an environment with the tools; its folder of programs. Raises CalledProcessError."""
    venv.create(folder, with_pip=True)
    pip = [str(folder / "bin/python"), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, *TOOLS], check=True, capture_output=True, timeout=LIMIT_S)
    return folder / "bin"


def audit(programs: Path) -> tuple[list[str], int]:
    """Ask about every pinned library."""
    command = [str(programs / "pip-audit"), "--disable-pip", "--require-hashes", "--format", "json"]
    ran = subprocess.run(
        [*command, "--requirement", str(REQUIREMENTS)],
        capture_output=True,
        text=True,
        check=False,
        timeout=LIMIT_S,
    )
    try:
        return verdict(json.loads(ran.stdout))
    except (ValueError, KeyError):
        reason = (ran.stderr.strip().splitlines() or ["no reason given"])[-1]
        return [f"NOT AUDITED: the advisory source did not answer ({reason[:200]})."], 0


def main() -> int:
    """Audit, or write the bill of materials (CycloneDX, JSON)."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sbom", type=Path)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            programs = _environment(Path(folder))
        except (subprocess.SubprocessError, OSError) as error:
            print(f"NOT AUDITED: the tools can't be installed ({type(error).__name__}).")
            return 2 if options.sbom else 0
        if options.sbom:
            command = [str(programs / "cyclonedx-py"), "requirements", "--output-format", "JSON"]
            subprocess.run([*command, "--output-file", str(options.sbom), str(REQUIREMENTS)], check=True)
            print(f"{options.sbom} written.")
            return 0
        lines, status = audit(programs)
    print("\n".join(lines))
    return status


if __name__ == "__main__":
    sys.exit(main())

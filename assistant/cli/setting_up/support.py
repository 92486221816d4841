"""`crumbcall support`: one file for whoever helps."""

import subprocess
import sys
from pathlib import Path
from typing import TextIO

import click

from assistant.app.setting_up.bundle import (
    LOG_LINES,
    check_text,
    journal_text,
    log_text,
    settings_of,
    versions_text,
    write_bundle,
)
from assistant.config.home import Home

CHECK_S = 120.0
"""A check that takes longer (s) is given up: something in it hangs, and that is told."""
_JOURNALCTL = ("journalctl", "--unit=crumbcall", f"--lines={LOG_LINES}", "--no-pager")


@click.command("support")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), default="crumbcall-support.zip")
@click.option(
    "--log", type=click.File("r"), help="The service's log, - for what is piped in; else it is asked for."
)
@click.pass_obj
def support_command(home: Home, file: Path, log: TextIO | None) -> None:
    """Write one file for support: versions, settings, check, log, counts of events. No sound, no spoken word.

    Example: crumbcall support bundle.zip
    """
    lines = _asked(_JOURNALCTL, 10).splitlines() if log is None else [*log]
    named = ("--home", str(home.config)) if home.config == home.data else ()
    check = (sys.executable, "-m", "assistant", *named, "check", "--json")
    parts = {
        "versions.txt": versions_text(),
        "settings.json": settings_of(home.settings_file),
        "journal.json": journal_text(home.journal_file),
        "check.json": check_text(_asked(check, CHECK_S)),
        "log.txt": log_text(lines),
    }
    write_bundle(file, parts)
    click.echo(f"{file} written: {', '.join(parts)}. There is no sound in it, and nothing of what was said.")


def _asked(command: tuple[str, ...], seconds: float) -> str:
    """What a command prints, or in a line why it does not."""
    try:
        return subprocess.run(
            command, capture_output=True, text=True, check=False, timeout=seconds, stdin=subprocess.DEVNULL
        ).stdout
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"{command[0]} gave nothing: {type(error).__name__}\n"

"""The journal as commands read it: one whose end is missing is read as far as it goes, and that is said."""

import sys
from pathlib import Path

from assistant.journal.reader import JournalReader


def read_journal(path: Path) -> JournalReader:
    """Open for reading; what is missing at its end is one line on standard error. Raises JournalError."""
    return JournalReader.open(path, tell=_tell)


def _tell(line: str) -> None:
    sys.stderr.write(f"crumbcall: {line}\n")

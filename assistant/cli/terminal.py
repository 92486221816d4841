"""What is shown on the terminal: a stream that fails is let go of, and the station goes on.

A station's record is its journal. A log on a full disk, a pipe whose reader went away and a terminal that was
closed cost what would have been shown, and nothing else.
"""

import os
import sys
from traceback import walk_tb
from typing import TextIO

import click


def open_missing_streams() -> None:
    """Open what the program was started without of standard input, output and errors.

    Otherwise the next file that is opened, the journal perhaps, gets the number of one of them, and what is
    printed goes into it (SQLite, "How To Corrupt An SQLite Database File", 1.1).
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the lowest number that is free
    sys.stdin = sys.stdin or os.fdopen(0, closefd=False)
    sys.stdout = sys.stdout or os.fdopen(1, "w", closefd=False)
    sys.stderr = sys.stderr or os.fdopen(2, "w", closefd=False)


def show(line: str, *, err: bool = False) -> None:
    """Print a line; where that fails, say so once on the other stream, and print no more on this one."""
    try:
        click.echo(line, err=err)
    except (OSError, ValueError) as error:  # ValueError: the stream is closed
        let_go(sys.stderr if err else sys.stdout)
        if not err:
            reason = getattr(error, "strerror", None) or str(error)
            show(f"The output can't be written ({reason}); the station goes on without it.", err=True)


def is_of_output(error: OSError) -> bool:
    """Whether this came from printing, which is then let go of: what a command prints goes through click."""
    frames = walk_tb(error.__traceback__)
    found = any(frame.f_globals.get("__name__") == click.utils.__name__ for frame, _ in frames)
    if found:
        let_go(sys.stdout)
    return found


def let_go(stream: TextIO) -> None:
    """Send a stream's output nowhere from now on, with what waits to be written, so that its end is quiet."""
    try:
        number = stream.fileno()
    except (OSError, ValueError):
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, number)
    os.close(nowhere)

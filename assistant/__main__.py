"""The program `crumbcall`: exits 0, or 2 with one clear line."""

import faulthandler
import os
import signal
import sys
from contextlib import suppress
from functools import cache
from pathlib import Path
from types import FrameType
from typing import TextIO

import click

from assistant.errors import CrumbcallError


def main(arguments: list[str] | None = None) -> None:
    """Run a command; whatever goes wrong, the person sees one line and never a traceback."""
    before = {one: signal.getsignal(one) for one in _ENDING}
    for one, handler in before.items():
        if handler is not signal.SIG_IGN:  # as nohup and a shell's & have it
            signal.signal(one, _end)
    try:
        from assistant.cli import crumbcall
        from assistant.cli.terminal import is_of_output, let_go, open_missing_streams

        open_missing_streams()
        crumbcall.main(args=arguments, prog_name="crumbcall", standalone_mode=False)
    except (KeyboardInterrupt, click.Abort):
        sys.stderr.write("\n")
    except CrumbcallError as error:
        _fail(str(error))
    except click.ClickException as error:
        _fail(_usage(error))
    except BrokenPipeError:
        # The reader of a pipe went away; nothing is wrong with us, and nothing more can be written.
        let_go(sys.stdout)
    except Exception as error:
        if isinstance(error, MemoryError) or "start new thread" in str(error):
            _fail("This machine has no memory left for crumbcall; stop other programs, then start it again.")
        if isinstance(error, OSError) and is_of_output(error):
            _fail(f"The output can't be written ({error.strerror}); send it elsewhere and run it again.")
        if isinstance(error, PermissionError) and error.filename:
            _fail(f"{error.filename} can't be used ({error.strerror}); give a folder that crumbcall may use.")
        if os.environ.get("CRUMBCALL_DEBUG"):
            raise
        _fail(
            f"Something broke inside Crumbcall ({type(error).__name__}: {error}). The journal is safe; "
            "run it again with CRUMBCALL_DEBUG=1 and report what it prints."
        )
    finally:
        faulthandler.cancel_dump_traceback_later()
        for one, handler in before.items():
            signal.signal(one, handler)


_ENDING = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT)
"""All end the program in order, with exit status 0."""
END_S = 12.0
"""An end in order takes at most this long (s), whatever hangs; then the program ends at once, with status 1.

The service allows 15 s. What was acknowledged is on disk either way.
"""


def _end(_signal: int, _frame: FrameType | None) -> None:
    """End as by Ctrl-C, so that everything is closed in order; a second signal does not disturb that."""
    for one in _ENDING:
        signal.signal(one, signal.SIG_IGN)
    with suppress(OSError):  # its timer is a thread in C: it ends the program even where Python hangs
        faulthandler.dump_traceback_later(END_S, exit=True, file=_nowhere())
    raise _Ended


class _Ended(KeyboardInterrupt):
    """What a signal that ends the program raises.

    Of a class of its own: where a bare KeyboardInterrupt passes through `exec`, as in the making of a
    dataclass while modules are imported, Python ends by SIGINT later, though it was caught.
    """


@cache
def _nowhere() -> TextIO:
    """Where the tracebacks of an end by force go: none reaches a cook. Open as long as the program runs."""
    return Path(os.devnull).open("w", encoding="utf-8")


def _fail(line: str) -> None:
    sys.stderr.write(f"crumbcall: {' '.join(line.split())}\n")
    sys.exit(2)


def _usage(error: click.ClickException) -> str:
    """One line for a wrong option or argument, with where to read on."""
    line = error.format_message()
    line = line if line.endswith(("?", ".")) else f"{line}."
    where = error.ctx.command_path if isinstance(error, click.UsageError) and error.ctx else "crumbcall"
    return f"{line} See `{where} --help`."


if __name__ == "__main__":
    main()

"""The program `crumbcall`: exits 0, or 2 with one clear line."""

import os
import signal
import sys
from types import FrameType

import click

from assistant.errors import CrumbcallError


def main(arguments: list[str] | None = None) -> None:
    """Run a command; whatever goes wrong, the person sees one line and never a traceback."""
    from assistant.cli import crumbcall
    from assistant.cli.terminal import is_of_output, let_go, open_missing_streams

    open_missing_streams()
    signal.signal(signal.SIGTERM, _terminate)
    try:
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


def _terminate(_signal: int, _frame: FrameType | None) -> None:
    """End as by Ctrl-C, so that everything is closed in order."""
    raise KeyboardInterrupt


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

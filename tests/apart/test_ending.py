"""Every signal that ends the program ends it in order, with status 0; by force it is status 1."""

import subprocess
import sys

import pytest

SCRIPT = """
import os, signal, sys, threading
import assistant.__main__ as program
import assistant.cli
class Command:
    @staticmethod
    def main(**_):
        {body}
assistant.cli.crumbcall = Command
{before}
program.main([])
"""


def ended(body: str, before: str = "") -> tuple[int, str]:
    """Exit status and output of the program with a command of this body."""
    script = SCRIPT.format(body=body, before=before)
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False
    )
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stdout


@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP", "SIGQUIT"])
def test_a_signal_ends_it_in_order_and_a_second_does_not_disturb_that(name: str) -> None:
    body = f"""try:
            os.kill(os.getpid(), signal.{name})
            threading.Event().wait(60)
        finally:
            os.kill(os.getpid(), signal.SIGTERM)
            print("closed", flush=True)"""
    assert ended(body) == (0, "closed\n")


def test_one_that_comes_while_a_module_is_imported_ends_it_with_status_0_too() -> None:
    """Python would end by SIGINT after a bare KeyboardInterrupt had passed through `exec`."""
    code = "import os, signal, threading; os.kill(os.getpid(), signal.SIGHUP); threading.Event().wait(60)"
    assert ended(f"exec({code!r})") == (0, "")


def test_a_hangup_that_is_ignored_stays_so() -> None:
    """`nohup` has it so."""
    body = 'os.kill(os.getpid(), signal.SIGHUP); print("goes on", flush=True)'
    assert ended(body, "signal.signal(signal.SIGHUP, signal.SIG_IGN)") == (0, "goes on\n")


def test_an_end_that_hangs_is_forced() -> None:
    body = """try:
            os.kill(os.getpid(), signal.SIGTERM)
            threading.Event().wait(60)
        finally:
            threading.Event().wait(60)"""
    assert ended(body, "program.END_S = 0.1") == (1, "")

"""CUPS: what `lp` is given, and how that fails. lp(1), from memory: -d queue, -t title, -o media, - stdin."""

import subprocess
from collections.abc import Sequence

import pytest

from assistant.devices.printer.cups_queue import CupsQueue, run_lp
from assistant.errors import DeviceError
from assistant.testing.printing import DrawnPages, check_printer

PAGES = DrawnPages([], title="rigatoni\n-o raw", pdf=b"%PDF-1.7", media="Custom.57x32mm")


def test_the_pdf_is_handed_to_the_queue_with_its_size() -> None:
    calls: list[tuple[list[str], bytes, float]] = []

    def run(command: Sequence[str], given: bytes, limit_s: float) -> "subprocess.CompletedProcess[bytes]":
        calls.append((list(command), given, limit_s))
        return subprocess.CompletedProcess(command, 0, b"", b"")

    CupsQueue("labels", limit_s=20.0, run=run).print_pages(PAGES)
    CupsQueue("", limit_s=20.0, run=run).print_pages(PAGES)
    title = ["-t", "rigatoni -o raw", "-o", "media=Custom.57x32mm", "--", "-"]
    assert calls == [
        (["lp", "-d", "labels", *title], b"%PDF-1.7", 20.0),
        (["lp", *title], b"%PDF-1.7", 20.0),
    ]


@pytest.mark.parametrize(
    ("raised", "line"),
    [
        (FileNotFoundError(), "no printer: lp is missing; apt-get install cups-client."),
        (
            subprocess.TimeoutExpired("lp", 20.0),
            "the queue labels did not answer within 20 s; see lpstat -t.",
        ),
        (PermissionError(13, "Permission denied"), "lp can't be run (Permission denied)."),
    ],
)
def test_what_can_not_be_run_is_one_clear_line(raised: Exception, line: str) -> None:
    def run(_command: Sequence[str], _given: bytes, _limit_s: float) -> "subprocess.CompletedProcess[bytes]":
        raise raised

    with pytest.raises(DeviceError) as error:
        CupsQueue("labels", limit_s=20.0, run=run).print_pages(PAGES)
    assert str(error.value) == line


def test_what_lp_refuses_is_told_with_its_reason() -> None:
    def run(command: Sequence[str], _given: bytes, _limit_s: float) -> "subprocess.CompletedProcess[bytes]":
        said = b"lp: The printer or class does not exist.\n"
        return subprocess.CompletedProcess(command, 1, b"", said)

    with pytest.raises(DeviceError) as error:
        CupsQueue("", limit_s=20.0, run=run).print_pages(PAGES)
    assert str(error.value) == (
        "the usual queue of CUPS does not print (The printer or class does not exist); see lpstat -t."
    )


def test_a_command_of_this_machine_gets_its_input_and_its_time() -> None:
    assert run_lp(["cat"], b"%PDF", 20.0).stdout == b"%PDF"
    with pytest.raises(subprocess.TimeoutExpired):
        run_lp(["cat", "/dev/zero"], b"", 0.05)


def test_whether_a_queue_is_there_is_asked_without_printing() -> None:
    calls: list[list[str]] = []

    def run(command: Sequence[str], given: bytes, _limit_s: float) -> "subprocess.CompletedProcess[bytes]":
        calls.append([*command])
        assert given == b""
        return subprocess.CompletedProcess(
            command, 0, b"printer labels is idle.  enabled since x\n\tReady\n", b""
        )

    assert CupsQueue("labels", limit_s=5.0, run=run).look() == "printer labels is idle.  enabled since x"
    with pytest.raises(DeviceError, match="CUPS has no usual queue"):
        CupsQueue("", limit_s=5.0, run=run).look()
    assert calls == [["lpstat", "-p", "labels"], ["lpstat", "-d"]]


def test_a_queue_keeps_the_contract_of_a_printer() -> None:
    def run(command: Sequence[str], _given: bytes, _limit_s: float) -> "subprocess.CompletedProcess[bytes]":
        gone = "gone" in command
        return subprocess.CompletedProcess(
            command, int(gone), b"printer labels is idle", b"lp: no such queue"
        )

    works, broken = (CupsQueue(name, limit_s=5.0, run=run) for name in ("labels", "gone"))
    check_printer(works, broken, PAGES)


def test_the_usual_queue_is_named_where_there_is_one() -> None:
    def run(command: Sequence[str], _given: bytes, _limit_s: float) -> "subprocess.CompletedProcess[bytes]":
        return subprocess.CompletedProcess(command, 0, b"system default destination: labels\n", b"")

    assert CupsQueue("", limit_s=5.0, run=run).look() == "system default destination: labels"

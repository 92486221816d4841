"""ESC/POS: the bytes that the library's own dummy printer got, read back into a picture.

GS v 0 (raster bit image): 1D 76 30 m xL xH yL yH d1...dk, x bytes a row, y rows, highest bit left, set is
black; ESC @ (1B 40) initialises, GS V (1D 56) cuts. From memory of the command reference.
"""

import socket
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from escpos.printer import Dummy

from assistant.devices.printer.addresses import PrinterKind, host_and_port, is_queue, problem, usb_ids
from assistant.devices.printer.escpos_printer import EscposPrinter, open_escpos
from assistant.errors import DeviceError
from assistant.ports import Dots
from assistant.testing.printing import DrawnPages, FakePrinter, check_printer

RASTER = b"\x1dv0"


def read_back(sent: bytes) -> Iterator[Dots]:
    """The pictures in the bytes, those of one page joined up to the cut."""
    rows: list[Dots] = []
    at = 0
    while at < len(sent):
        if sent[at : at + 3] == RASTER:
            wide, high = (int.from_bytes(sent[at + b : at + b + 2], "little") for b in (4, 6))
            data = np.frombuffer(sent[at + 8 : at + 8 + wide * high], np.uint8).reshape(high, wide)
            rows.append(np.unpackbits(data, axis=1).astype(bool))
            at += 8 + wide * high
        elif sent[at : at + 2] == b"\x1dV":
            yield np.vstack(rows)
            rows = []
            at += 3
        else:
            at += 1
    if rows:
        yield np.vstack(rows)


def page(high: int, wide: int, seed: int = 1) -> Dots:
    return np.random.default_rng(seed).random((high, wide)) < 0.3


def printed(pages: DrawnPages, *, across: int = 384, cut: bool = True) -> bytes:
    dummy = Dummy()
    EscposPrinter("here", lambda: dummy, dots_across=across, per_mm=8.0, cut=cut).print_pages(pages)
    return bytes(dummy.output)


@pytest.mark.parametrize("wide", [384, 376, 381])
def test_what_is_sent_is_the_picture_dot_by_dot(wide: int) -> None:
    first, second = page(700, wide), page(90, wide, 2)
    sent = printed(DrawnPages([first, second]))
    assert sent.startswith(b"\x1b@")
    found = list(read_back(sent))
    assert len(found) == 2
    for got, given in zip(found, (first, second), strict=True):
        assert np.array_equal(got[:, :wide], given)
        assert not got[:, wide:].any()


def test_a_printer_without_a_knife_is_not_told_to_cut() -> None:
    assert b"\x1dV" not in printed(DrawnPages([page(9, 8)]), cut=False).replace(RASTER, b"")


def test_a_page_wider_than_the_head_is_centred_where_its_sides_are_blank() -> None:
    wide = np.zeros((50, 456), bool)
    wide[:, 40:400] = page(50, 360)
    (found,) = read_back(printed(DrawnPages([wide])))
    assert np.array_equal(found, wide[:, 36:420])


def test_a_page_that_the_head_can_not_print_is_refused_before_anything_is_sent() -> None:
    dummy = Dummy()
    wide = np.ones((5, 456), bool)
    with pytest.raises(DeviceError, match=r"456 dots wide, the printer's head 384; choose another size"):
        EscposPrinter("here", lambda: dummy, dots_across=384, per_mm=8.0, cut=True).print_pages(
            DrawnPages([wide])
        )
    assert dummy.output == b""


def test_the_library_prints_nothing_of_its_own_on_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    printed(DrawnPages([page(9, 8)]))
    assert capsys.readouterr().out == ""


def test_a_file_gets_the_bytes(tmp_path: Path) -> None:
    file = tmp_path / "lp0"
    opened = open_escpos("file", str(file), baud=9600, limit_s=5.0)
    EscposPrinter(str(file), lambda: opened, dots_across=384, per_mm=8.0, cut=True).print_pages(
        DrawnPages([page(20, 80)])
    )
    (found,) = read_back(file.read_bytes())
    assert np.array_equal(found, page(20, 80))


@pytest.mark.filterwarnings("ignore:Exception ignored:pytest.PytestUnraisableExceptionWarning")
@pytest.mark.filterwarnings("ignore::ResourceWarning")  # the library leaves its socket to the collector
@pytest.mark.parametrize(
    ("kind", "address"),
    [
        ("file", "/nowhere/lp0"),
        ("serial", "/dev/no-such-line"),
        ("network", "127.0.0.1:9"),
        ("usb", "ffff:ffff"),
    ],
)
def test_a_printer_that_is_not_there_is_one_clear_line(kind: PrinterKind, address: str) -> None:
    opened = open_escpos(kind, address, baud=9600, limit_s=5.0)
    with pytest.raises(DeviceError) as error:
        EscposPrinter(address, lambda: opened, dots_across=384, per_mm=8.0, cut=True).print_pages(
            DrawnPages([page(9, 8)])
        )
    assert str(error.value).startswith(f"the printer at {address} does not print (")
    assert str(error.value).count("(") == str(error.value).count(")")
    assert "\n" not in str(error.value)


def test_a_printer_that_stops_half_way_is_one_clear_line_and_is_closed() -> None:
    class Stops(Dummy):  # type: ignore[misc]
        closed = False

        def _raw(self, msg: bytes) -> None:
            if len(msg) > 100:
                raise TimeoutError("timed out")

        def close(self) -> None:
            self.closed = True

    printer: Any = Stops()
    with pytest.raises(DeviceError, match=r"does not print \(timed out\)"):
        EscposPrinter("here", lambda: printer, dots_across=384, per_mm=8.0, cut=True).print_pages(
            DrawnPages([page(100, 80)])
        )
    assert printer.closed


@pytest.mark.parametrize(
    ("kind", "address", "fits"),
    [
        ("usb", "04b8:0202", True),
        ("usb", "4b8:202", False),
        ("usb", "", False),
        ("network", "192.168.1.50", True),
        ("network", "printer.kitchen:9101", True),
        ("network", "printer:99999", False),
        ("network", "http://printer", False),
        ("serial", "/dev/ttyUSB0", True),
        ("serial", "ttyUSB0", False),
        ("file", "/dev/usb/lp0", True),
        ("cups", "", True),
        ("cups", "labels", True),
        ("cups", "-o raw", False),
        ("none", "whatever", True),
    ],
)
def test_an_address_fits_its_kind_or_is_refused_with_an_example(
    kind: PrinterKind, address: str, fits: bool
) -> None:
    found = problem(kind, address)
    assert (found is None) is fits
    if found is not None:
        assert "allowed is" in found


def test_addresses_are_read() -> None:
    assert usb_ids("04b8:0202") == (0x04B8, 0x0202)
    assert host_and_port("printer") == ("printer", 9100)
    assert host_and_port("10.0.0.7:9101") == ("10.0.0.7", 9101)
    assert not is_queue("a b")


def test_whether_a_printer_is_there_is_seen_without_a_byte() -> None:
    dummy = Dummy()
    printer = EscposPrinter("here", lambda: dummy, dots_across=384, per_mm=8.0, cut=True)
    assert printer.look() == "opens at here"
    assert dummy.output == b""


def test_printer_and_fake_keep_the_contract() -> None:
    def gone() -> Any:
        raise OSError("gone")

    works, broken = (
        EscposPrinter("here", opened, dots_across=384, per_mm=8.0, cut=True) for opened in (Dummy, gone)
    )
    check_printer(works, broken, DrawnPages([page(9, 8)]))
    check_printer(FakePrinter(), FakePrinter("no paper"), DrawnPages([]))


def test_a_printer_that_hides_that_it_is_broken_is_found() -> None:
    with pytest.raises(AssertionError, match="says so"):
        check_printer(FakePrinter(), FakePrinter(), DrawnPages([]))


def test_a_printer_in_the_network_gets_the_bytes() -> None:
    got = bytearray()
    with socket.create_server(("127.0.0.1", 0)) as server:

        def take() -> None:
            connection, _ = server.accept()
            with connection:
                while part := connection.recv(4096):
                    got.extend(part)

        taking = threading.Thread(target=take)
        taking.start()
        address = f"127.0.0.1:{server.getsockname()[1]}"
        opened = open_escpos("network", address, baud=9600, limit_s=10.0)
        printer = EscposPrinter(address, lambda: opened, dots_across=384, per_mm=8.0, cut=True)
        printer.print_pages(DrawnPages([page(300, 384)]))
        taking.join(10.0)
    (found,) = read_back(bytes(got))
    assert np.array_equal(found, page(300, 384))

"""A receipt or label printer that speaks ESC/POS: pages go to it as dots, so that they look as they were set.

python-escpos speaks to it, by USB, network, serial line or a device file; it is imported when a printer is
opened. What does not work is one DeviceError.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from typing import Any

import numpy as np

from assistant.devices.printer.addresses import PrinterKind, host_and_port, usb_ids
from assistant.errors import DeviceError
from assistant.ports import Dots, Pages

FRAGMENT_DOTS = 256
"""Rows that are sent at once: small printers hold few (common practice, from memory)."""


def open_escpos(kind: PrinterKind, address: str, *, baud: int, limit_s: float) -> Any:
    """The library's own printer, not opened yet. Raises DeviceError where the library is missing."""
    try:
        from escpos import printer as found
    except ImportError as error:
        raise DeviceError(
            f"no printer: it needs the extra paper: .venv/bin/pip install 'crumbcall[paper]' ({error})."
        ) from None
    match kind:
        case "usb" if (ids := usb_ids(address)) is not None:
            return found.Usb(*ids, timeout=int(limit_s * 1000))
        case "network" if (place := host_and_port(address)) is not None:
            return found.Network(*place, timeout=limit_s)
        case "serial":
            # Without a hand-shake: one that nobody answers would wait for ever.
            return found.Serial(address, baudrate=baud, timeout=limit_s, dsrdtr=False)
        case "file":
            return found.File(address)
    raise DeviceError(f'no printer: kind = "{kind}" is none that speaks ESC/POS; change [printer].')


class EscposPrinter:
    """ports.Printer for ESC/POS."""

    def __init__(
        self, where: str, opened: Callable[[], Any], *, dots_across: int, per_mm: float, cut: bool
    ) -> None:
        self._where = where
        self._open = opened
        self._across = dots_across
        self._per_mm = per_mm
        self._cut = cut

    def look(self) -> str:
        """Open it and close it again. Raises DeviceError."""
        with self._connected():
            return f"opens at {self._where}"

    def print_pages(self, pages: Pages) -> None:
        """Print every page. Raises DeviceError."""
        from PIL import Image

        pictures = [self._on_head(one) for one in pages.dots(self._per_mm)]
        with self._connected() as printer:
            printer.hw("INIT")
            for dots in pictures:
                printer.image(Image.fromarray(~dots), fragment_height=FRAGMENT_DOTS)
                if self._cut:
                    printer.cut()
                elif pages.is_cut_label:
                    printer.ff()

    def _on_head(self, dots: Dots) -> Dots:
        """The page as the head prints it: what is wider has to be blank at its sides."""
        wide = dots.shape[1]
        if wide <= self._across:
            return dots
        left = (wide - self._across) // 2
        middle = slice(left, left + self._across)
        beside = dots.copy()
        beside[:, middle] = False
        if beside.any():
            raise DeviceError(
                f"the page is {wide} dots wide, the printer's head {self._across}; "
                "choose another size in [printer] label, or put the right dots_across there."
            )
        return np.ascontiguousarray(dots[:, middle])

    @contextmanager
    def _connected(self) -> Iterator[Any]:
        """The printer, closed again in any case; whatever it raises is a DeviceError."""
        from escpos.exceptions import Error

        try:
            printer = self._open()
            printer.profile.profile_data = deepcopy(printer.profile.profile_data)
            printer.profile.profile_data["media"] = {"width": {"pixels": self._across, "mm": "Unknown"}}
            if hasattr(printer, "open"):
                printer.open()
            try:
                yield printer
            finally:
                printer.close()
        except DeviceError:
            raise
        except (OSError, RuntimeError, ValueError, AssertionError, Error) as error:
            raise DeviceError(f"the printer at {self._where} does not print ({_one_line(error)}).") from None


def _one_line(error: Exception) -> str:
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    text = (lines[-1] if lines else type(error).__name__).rstrip(".")
    # The library closes a bracket that it never opened.
    return text.removesuffix(")") if text.count(")") > text.count("(") else text

"""Where a printer is, as the settings write it. Pure."""

import re
from typing import Literal

PrinterKind = Literal["none", "usb", "network", "serial", "file", "cups"]
USUAL_PORT = 9100
"""Port on which printers take raw bytes (common practice, from memory)."""

_USB = re.compile(r"([0-9A-Fa-f]{4}):([0-9A-Fa-f]{4})\Z")
_HOST = re.compile(r"([A-Za-z0-9](?:[A-Za-z0-9.-]{0,252}))(?::([0-9]{1,5}))?\Z")
_QUEUE = re.compile(r"[^\s/#\\'\"?-][^\s/#\\'\"?]{0,126}\Z")


def usb_ids(address: str) -> tuple[int, int] | None:
    """Vendor and product of "04b8:0202"; None where it is no such pair."""
    found = _USB.match(address)
    return None if found is None else (int(found[1], 16), int(found[2], 16))


def host_and_port(address: str) -> tuple[str, int] | None:
    """Host and port of "192.168.1.50" or "printer:9100"; None where it is none."""
    found = _HOST.match(address)
    if found is None:
        return None
    port = int(found[2]) if found[2] else USUAL_PORT
    return (found[1], port) if 0 < port <= 65535 else None


def is_queue(name: str) -> bool:
    """Whether CUPS may have a queue of this name: no blanks, slashes or number signs, no option of lp."""
    return _QUEUE.match(name) is not None


USUAL = "usual"
"""Name in the settings for the queue that CUPS takes where none is named."""


def sheets_problem(queue: str) -> str | None:
    """What is wrong with the queue for sheets, and what is allowed; None where it fits or there is none."""
    if not queue or queue == USUAL or is_queue(queue):
        return None
    return f'sheets = "{queue[:60]}", allowed is a queue as lpstat -p lists it, or "{USUAL}"; change it.'


def problem(kind: PrinterKind, address: str) -> str | None:
    """What is wrong with an address, and what is allowed; None where it fits."""
    found = f'kind = "{kind}" and address = "{address[:60]}"'
    match kind:
        case "usb" if usb_ids(address) is None:
            return (
                f"{found}, allowed is vendor:product as lsusb prints them, as 04b8:0202; change the address."
            )
        case "network" if host_and_port(address) is None:
            return f"{found}, allowed is a host, as 192.168.1.50 or 192.168.1.50:9100; change the address."
        case "serial" | "file" if not address.startswith("/") or "\0" in address:
            return f"{found}, allowed is a whole path, as /dev/usb/lp0; change the address."
        case "cups" if address and not is_queue(address):
            return f'{found}, allowed is a queue as lpstat -p lists it, or ""; change the address.'
        case _:
            return None

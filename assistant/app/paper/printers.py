"""The printers of the settings."""

from functools import partial

from assistant.batch.record.printing.print_kinds import PrintedWhat
from assistant.config.station_settings import PrinterSettings
from assistant.devices.printer.addresses import USUAL
from assistant.devices.printer.cups_queue import CupsQueue
from assistant.devices.printer.escpos_printer import EscposPrinter, open_escpos
from assistant.errors import DeviceError
from assistant.ports import Printer


def can_be_printed(settings: PrinterSettings) -> frozenset[PrintedWhat]:
    """What there is a printer for."""
    labels: frozenset[PrintedWhat] = frozenset() if settings.kind == "none" else frozenset({"label"})
    return labels | (frozenset({"sheet", "day"}) if settings.sheets else frozenset())


def label_printer(settings: PrinterSettings) -> Printer:
    """What prints labels. Raises DeviceError, one line, where none is set."""
    match settings.kind:
        case "none":
            raise DeviceError(
                'no printer is set; write [printer] kind = "usb", "network", "serial", "file" or "cups" and '
                "its address into settings.toml."
            )
        case "cups":
            return CupsQueue(settings.address, limit_s=settings.limit_s)
    opened = partial(
        open_escpos, settings.kind, settings.address, baud=settings.baud, limit_s=settings.limit_s
    )
    return EscposPrinter(
        settings.address,
        opened,
        dots_across=settings.dots_across,
        per_mm=settings.dots_per_mm,
        cut=settings.cut,
    )


def sheet_printer(settings: PrinterSettings) -> Printer:
    """What prints sheets on A4. Raises DeviceError, one line, where none is set."""
    if not settings.sheets:
        raise DeviceError(
            'no printer is set for sheets; write [printer] sheets = "usual", or a queue as lpstat -p lists '
            "it, into settings.toml."
        )
    return CupsQueue("" if settings.sheets == USUAL else settings.sheets, limit_s=settings.limit_s)

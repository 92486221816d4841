"""Printing in a process of its own: its libraries take no memory of the station, and what hangs is ended.

`python -m assistant.app.paper.print_apart JOB` prints one job of a home and answers with one line of JSON.
"""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import msgspec

from assistant.app.paper.documents import Documents
from assistant.app.paper.printers import label_printer, sheet_printer
from assistant.batch.record.printing.print_jobs import PrintJob
from assistant.batch.record.printing.print_kinds import PrintedWhat, PrintFailure, PrintResult
from assistant.config.home import Home
from assistant.errors import CrumbcallError, DeviceError, JournalError, PaperError, RecipeError
from assistant.ports import Clock
from assistant.sheets.day_account import day_of
from assistant.sheets.label import Tray

_MODULE = "assistant.app.paper.print_apart"
STARTING_S = 30.0
"""What a slow machine takes to start and to set a page, beside the printing itself (s)."""


class Job(msgspec.Struct, frozen=True):
    """What to print, and out of which home."""

    config: str
    data: str
    what: PrintedWhat
    batch: int | None = None
    """None: the last one."""
    tray: int | None = None
    """None: the batch as a whole."""
    every: bool = False
    """One for each tray of the batch."""
    weight_g: float | None = None
    portions: int | None = None
    size: str | None = None
    """None: that of the settings."""
    day: str | None = None
    """Of a day's sheet, as 2026-03-02; None: today."""


@dataclass(frozen=True, slots=True)
class PrintApart:
    """Prints jobs of a home, one after the other."""

    limit_s: float
    """How long one may take (s)."""
    starting_s: float = STARTING_S

    def __call__(self, job: Job) -> PrintResult:
        """Print; returns when it is printed, or can't be."""
        command = [sys.executable, "-m", _MODULE, msgspec.json.encode(job).decode()]
        limit = self.limit_s + self.starting_s
        try:
            done = subprocess.run(
                command, capture_output=True, timeout=limit, check=False, stdin=subprocess.DEVNULL
            )
            said = done.stdout.splitlines() or [b""]
            return msgspec.json.decode(said[-1], type=PrintResult)
        except subprocess.TimeoutExpired:
            return PrintResult(
                "printer", f"the printer did not take it within {limit:g} s; see that it is ready."
            )
        except (OSError, msgspec.DecodeError) as error:
            return PrintResult("paper", f"printing ended by itself ({error}); try it again.")


def print_of_station(home: Home, apart: PrintApart, clock: Clock, job: PrintJob) -> PrintResult:
    """Print what the cook asked for."""
    wanted = Job(
        str(home.config),
        str(home.data),
        job.what,
        batch=job.batch,
        tray=job.tray,
        every=job.every,
        day=job.day or day_of(clock.wall()),
    )
    return apart(wanted)


def printed(job: Job) -> PrintResult:
    """Print a job here and now."""
    try:
        _print(job)
    except CrumbcallError as error:
        return PrintResult(_FAILURES.get(type(error), "paper"), str(error))
    return PrintResult()


_FAILURES: dict[type[CrumbcallError], PrintFailure] = {
    DeviceError: "printer",
    PaperError: "paper",
    RecipeError: "allergens",
    JournalError: "nothing",
}


def _print(job: Job) -> None:
    documents = Documents.of(Home(Path(job.config), Path(job.data)))
    settings = documents.settings.printer
    if job.what == "label":
        printer = label_printer(settings)
        trays = None if job.every else [Tray(job.tray, job.weight_g, job.portions)]
        labels = documents.labels(job.batch, trays)
        printer.print_pages(documents.label_pages(labels, job.size)[1])
        return
    printer = sheet_printer(settings)
    page = documents.sheet_page(job.batch) if job.what == "sheet" else documents.day_page(job.day or "")
    printer.print_pages(page[1])


if __name__ == "__main__":
    os.nice(10)  # whoever speaks meanwhile is heard first
    _job = msgspec.json.decode(sys.argv[1], type=Job)
    sys.stdout.write(msgspec.json.encode(printed(_job)).decode() + "\n")

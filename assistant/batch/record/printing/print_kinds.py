"""What can be printed, and why it may not be."""

from dataclasses import dataclass
from typing import Literal

PrintedWhat = Literal["label", "sheet", "day"]
PrintFailure = Literal["printer", "paper", "allergens", "nothing", "restart"]
"""No printer answers; the page can't be set; allergens are not known; there is nothing of that number; the
station went off meanwhile, so that nobody knows."""


@dataclass(frozen=True, slots=True)
class PrintResult:
    """How a job of printing ended."""

    failure: PrintFailure | None = None
    """Why it is not printed; None: it is."""
    line: str = ""
    """What was found, what to do: one line for the record."""


PRINTED = PrintResult()

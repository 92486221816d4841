"""What can be printed, and why it may not be."""

from typing import Literal

PrintedWhat = Literal["label", "sheet", "day"]
PrintFailure = Literal["printer", "paper", "allergens", "nothing", "restart"]
"""No printer answers; the page can't be set; allergens are not known; there is nothing of that number; the
station went off meanwhile, so that nobody knows."""

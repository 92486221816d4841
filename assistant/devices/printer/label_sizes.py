"""Sizes of labels: cut ones, and rolls on which a label is as long as its text. Lengths in mm.

The sizes are those that label and receipt printers commonly take, and so is the width that a thermal head
prints of a roll, 48 mm of 58 and 72 mm of 80 (common practice, from memory).
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LabelSize:
    """A size of label."""

    name: str
    width: float
    """As wide as what is printed on: a roll counts with the part that its printer reaches."""
    height: float | None
    """None: a roll, cut behind the text."""
    margin: float
    """At each side, free of text."""


_ALL = (
    LabelSize("57x32", 57.0, 32.0, 1.5),
    LabelSize("62x29", 62.0, 29.0, 1.5),
    LabelSize("89x36", 89.0, 36.0, 1.5),
    LabelSize("62x100", 62.0, 100.0, 2.0),
    LabelSize("100x50", 100.0, 50.0, 2.0),
    LabelSize("100x62", 100.0, 62.0, 2.0),
    LabelSize("roll-58", 48.0, None, 1.0),
    LabelSize("roll-80", 72.0, None, 1.5),
)
LABEL_SIZES = {one.name: one for one in _ALL}
"""Name -> size."""
USUAL_SIZE = "100x50"

LONGEST_ROLL = 400.0
"""A label on a roll is at most this long."""

"""The cutter at the die: faster cuts make shorter pieces. Lengths mm, speeds as the machine counts them."""

from assistant.dough.ranges import positive


def speed_for(speed: float, length_mm: float, wanted_mm: float) -> float:
    """Speed that gives pieces of `wanted_mm`, from what one speed gave.

    Dough comes at the same pace, so that length times speed stays the same (derived by proportion). Measure ten
    pieces in a row and take a tenth.
    """
    positive("speed", speed, "")
    positive("length", length_mm, "mm")
    return speed * length_mm / positive("wanted length", wanted_mm, "mm")

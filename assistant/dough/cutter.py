"""The cutter at the die: faster cuts make shorter pieces. Lengths mm, speeds as the machine counts them."""

from assistant.dough.ranges import recorded_above_zero


def speed_for(speed: float, length_mm: float, wanted_mm: float) -> float:
    """Speed that makes pieces of `wanted_mm`, from what one speed made.

    Dough comes at the same pace, so that length times speed stays the same (derived by proportion). Measure
    ten pieces in a row and take a tenth.
    """
    recorded_above_zero("speed", speed, "")
    recorded_above_zero("length", length_mm, "mm")
    return speed * length_mm / recorded_above_zero("wanted length", wanted_mm, "mm")

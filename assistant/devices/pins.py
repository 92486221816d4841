"""The pins of the Raspberry Pi's 40-pin header: which part is wired to which, and which may not be taken.

Pure. Pins are named by their GPIO number (the numbers of the chip, not of the header); 0 means that the part
is absent. `hardware/` draws its wiring from the same map. Header positions: Raspberry Pi documentation, "GPIO
and the 40-pin header"; a test compares them with gpiozero's own table.
"""

from dataclasses import asdict, dataclass

ABSENT = 0
"""A part that is not there. No part can have GPIO 0: it reads the ID of an add-on board."""

RESERVED: dict[int, str] = {
    0: "the ID of an add-on board",
    1: "the ID of an add-on board",
    2: "the jug scale (I2C)",
    3: "the jug scale (I2C)",
    7: "the jug scale (SPI)",
    8: "the jug scale (SPI)",
    9: "the jug scale (SPI)",
    10: "the jug scale (SPI)",
    11: "the jug scale (SPI)",
    14: "the serial console",
    15: "the serial console",
    18: "a sound card (I2S)",
    19: "a sound card (I2S)",
    20: "a sound card (I2S)",
    21: "a sound card (I2S)",
}
"""Pins that have another use, with that use."""

POSITION: dict[int, int] = {
    2: 3, 3: 5, 4: 7, 14: 8, 15: 10, 17: 11, 18: 12, 27: 13, 22: 15, 23: 16, 24: 18, 10: 19, 9: 21, 25: 22,
    11: 23, 8: 24, 7: 26, 0: 27, 1: 28, 5: 29, 6: 31, 12: 32, 13: 33, 19: 35, 16: 36, 26: 37, 20: 38, 21: 40,
}  # fmt: skip
"""Position on the header of every GPIO."""
SUPPLY_3V3 = (1, 17)
SUPPLY_5V = (2, 4)
GROUND = (6, 9, 14, 20, 25, 30, 34, 39)
"""Positions of the supplies and of ground."""

FREE = tuple(sorted(POSITION.keys() - RESERVED.keys()))
"""GPIOs that the parts may take."""


@dataclass(frozen=True, slots=True)
class PinMap:
    """GPIO of each part; 0: the part is absent."""

    lamp: int = ABSENT
    buzzer: int = ABSENT
    foot_switch: int = ABSENT

    @property
    def parts(self) -> dict[str, int]:
        """GPIO of each part that is there, by name."""
        return {part: gpio for part, gpio in asdict(self).items() if gpio != ABSENT}


WIRED = PinMap(lamp=17, buzzer=27, foot_switch=22)
"""The map that hardware/ draws and the guide wires."""


def problem(pins: PinMap) -> str | None:
    """Why a map can't be used, and what to do, in words; None where it can be used."""
    free = ", ".join(str(gpio) for gpio in FREE)
    taken: dict[int, str] = {}
    for part, gpio in pins.parts.items():
        if gpio in RESERVED:
            return f"{part} = {gpio} is kept for {RESERVED[gpio]}; take one of {free}, or 0 for none."
        if gpio not in POSITION:
            return f"{part} = {gpio} is not a pin of the header; take one of {free}, or 0 for none."
        if gpio in taken:
            return f"{taken[gpio]} and {part} both have {gpio}; take another of {free} for one of them."
        taken[gpio] = part
    return None

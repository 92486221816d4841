"""Which wire of which part goes to which pin of the header, as a table, from the pin map.

Pure. Limits that the resistors keep: a GPIO may drive 16 mA, and its inputs bear 3.3 V (Raspberry Pi
documentation, from memory). 3.3 V less 2 V of a red or green lamp over 330 ohm is 4 mA.
"""

from dataclasses import dataclass

from assistant.devices.lamp import PATTERNS
from assistant.devices.pins import GROUND, POSITION, SUPPLY_3V3, SUPPLY_5V, WIRED, PinMap


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire from a part to the header."""

    part: str
    terminal: str
    """Where it begins at the part."""
    position: int
    """Where it ends on the header, counted from the corner with pin 1."""
    through: str = ""
    """What is between the two; empty: nothing."""


def wires(pins: PinMap = WIRED) -> tuple[Wire, ...]:
    """All wires of all parts; only one of the two scale boards is built."""
    found: list[Wire] = []
    if pins.lamp:
        found += [
            Wire("lamp", "long leg", POSITION[pins.lamp], "330 ohm"),
            Wire("lamp", "short leg", 9),
        ]
    if pins.buzzer:
        found += [
            Wire("buzzer module, 3.3 V, with its own transistor", "signal", POSITION[pins.buzzer]),
            Wire("buzzer module, 3.3 V, with its own transistor", "supply", 17),
            Wire("buzzer module, 3.3 V, with its own transistor", "ground", 14),
        ]
    if pins.foot_switch:
        found += [
            Wire("foot switch", "one contact", POSITION[pins.foot_switch], "1 kilohm"),
            Wire("foot switch", "other contact", 20),
        ]
    return (
        *found,
        Wire("scale board NAU7802", "supply, 3.3 V", 1),
        Wire("scale board NAU7802", "SDA", POSITION[2]),
        Wire("scale board NAU7802", "SCL", POSITION[3]),
        Wire("scale board NAU7802", "ground", 6),
        Wire("or scale board HX711", "supply, 3.3 V", 1),
        Wire("or scale board HX711", "PD_SCK", POSITION[10]),
        Wire("or scale board HX711", "DOUT", POSITION[9]),
        Wire("or scale board HX711", "ground", 25),
    )


def pin_name(position: int) -> str:
    """What is at a position of the header."""
    if position in SUPPLY_3V3:
        return "3.3 V"
    if position in SUPPLY_5V:
        return "5 V"
    if position in GROUND:
        return "ground"
    return f"GPIO {next(gpio for gpio, at in POSITION.items() if at == position)}"


def wiring_table(pins: PinMap = WIRED) -> str:
    """Every wire as a table in Markdown."""
    rows = [
        (wire.part, wire.terminal, str(wire.position), pin_name(wire.position), wire.through or "-")
        for wire in wires(pins)
    ]
    heads = ["| part | its terminal | pin | which is | through |", "|---|---|---|---|---|"]
    return "\n".join([*heads, *(f"| {' | '.join(row)} |" for row in rows)])


def lamp_table() -> str:
    """What the lamp shows, as a table in Markdown."""
    rows = [f"| {pattern.name} | {signal.value} |" for signal, pattern in PATTERNS.items()]
    return "\n".join(["| lamp | what it means |", "|---|---|", *rows])

"""Which wire of which part goes to which pin of the header, as a table and as a drawing, from the pin map.

Pure. Limits that the resistors keep: a GPIO may drive 16 mA, and its inputs bear 3.3 V (Raspberry Pi
documentation, from memory). 3.3 V less 2 V of a red or green lamp over 330 ohm is 4 mA.
"""

from dataclasses import dataclass
from xml.sax.saxutils import escape

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


_ROW, _TOP, _HEADER_X, _BOX_X, _BOX_W = 26, 60, 640, 20, 330


def drawing(pins: PinMap = WIRED) -> str:
    """The header and the parts on it as an SVG; every wire names its pin, so that no colour is needed."""
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 900 {_TOP + 21 * _ROW}" '
        'font-family="sans-serif" font-size="12">',
        "<title>Wiring of the 40-pin header</title>",
        '<rect width="100%" height="100%" fill="white"/>',
        f'<text x="{_HEADER_X - 40}" y="30" font-size="15">header, pin 1 at the corner of the board</text>',
    ]
    used = {wire.position for wire in wires(pins)}
    for position in range(1, 41):
        x, y = _pin(position)
        left = position % 2 == 1
        colour = "black" if position in used else "white"
        lines.append(f'<circle cx="{x}" cy="{y}" r="8" fill="{colour}" stroke="black"/>')
        lines.append(
            f'<text x="{x - 30 if left else x + 14}" y="{y - 3 if left else y + 4}" font-size="10">'
            f"{position if left else f'{position} {pin_name(position)}'}</text>"
        )
    edge = _TOP
    slots: dict[int, int] = {}
    for part in dict.fromkeys(wire.part for wire in wires(pins)):
        mine = [wire for wire in wires(pins) if wire.part == part]
        height = 20 * len(mine) + 24
        lines.append(
            f'<rect x="{_BOX_X}" y="{edge}" width="{_BOX_W}" height="{height}" fill="none" stroke="black"/>'
        )
        lines.append(
            f'<text x="{_BOX_X + 8}" y="{edge + 16}" font-weight="bold">{escape(part.removeprefix("or "))}'
            f"{' (instead of the other)' if part.startswith('or ') else ''}</text>"
        )
        for row, wire in enumerate(mine):
            at = edge + 34 + 20 * row
            shown = f"{wire.terminal}{f', {wire.through}' if wire.through else ''}"
            lines.append(f'<text x="{_BOX_X + 16}" y="{at}">{escape(shown)}</text>')
            lines.append(
                f'<text x="{_BOX_X + _BOX_W - 8}" y="{at}" text-anchor="end">'
                f"pin {wire.position}, {pin_name(wire.position)}</text>"
            )
            slots[wire.position] = slots.get(wire.position, len(slots))
            bend = _BOX_X + _BOX_W + 20 + 14 * slots[wire.position]
            pin_x, pin_y = _pin(wire.position)
            over = pin_y if wire.position % 2 else pin_y + _ROW // 2
            end = f"H{pin_x - 8}" if wire.position % 2 else f"H{pin_x} V{pin_y + 8}"
            lines.append(
                f'<path d="M{_BOX_X + _BOX_W} {at - 4} H{bend} V{over} {end}" fill="none" stroke="black"/>'
            )
        edge += height + 12
    return "\n".join([*lines, "</svg>", ""])


def _pin(position: int) -> tuple[int, int]:
    """Where a pin is drawn: odd ones left, even ones right, from the top."""
    return _HEADER_X + (0 if position % 2 else 44), _TOP + (position - 1) // 2 * _ROW

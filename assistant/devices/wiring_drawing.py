"""The 40-pin header, its board and the parts on it as a drawing (SVG), from the pin map. Pure.

Every wire names its pin, so that no colour is needed; where two wires cross without touching, the one across
goes over the other in a small arc, and where two end at one pin there is a dot.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from xml.sax.saxutils import escape

from assistant.devices.pins import WIRED, PinMap
from assistant.devices.wiring import Wire, pin_name, wires

_ROW, _TOP = 26, 76
_BOX_X, _BOX_W, _HEADER_X = 20, 330, 660
_BOARD_X, _BOARD_W = 606, 190
_WIDTH, _HEIGHT = 900, _TOP + 22 * _ROW
HOP = 4
"""Radius of the arc in which one wire goes over another."""


@dataclass(frozen=True, slots=True)
class Route:
    """The way of one wire: across to `bend`, up or down to `level`, across to `end`, to its pin."""

    wire: Wire
    start: tuple[int, int]
    bend: int
    level: int
    end: int
    pin_y: int

    @property
    def across(self) -> tuple[tuple[int, int, int], tuple[int, int, int]]:
        """Its two stretches from left to right, each from x, to x, at y."""
        return (*self.start[:1], self.bend, self.start[1]), (self.bend, self.end, self.level)

    @property
    def upright(self) -> tuple[int, int, int]:
        """Its long stretch, at x, from y down to y."""
        return self.bend, min(self.start[1], self.level), max(self.start[1], self.level)


def routes(pins: PinMap = WIRED) -> list[Route]:
    """The way of every wire, part by part from the top; wires to one pin share their upright stretch."""
    found: list[Route] = []
    slots: dict[int, int] = {}
    edge = _TOP
    for _, group in groupby(wires(pins), key=lambda wire: wire.part):
        mine = [*group]
        for row, wire in enumerate(mine):
            slots.setdefault(wire.position, len(slots))
            x, y = _pin(wire.position)
            near = wire.position % 2 == 1
            found.append(
                Route(
                    wire,
                    start=(_BOX_X + _BOX_W, edge + 30 + 20 * row),
                    bend=_BOX_X + _BOX_W + 20 + 14 * slots[wire.position],
                    level=y if near else y + _ROW // 2,
                    end=x - 8 if near else x,
                    pin_y=y,
                )
            )
        edge += _height(mine) + 12
    return found


def crossings(route: Route, others: Sequence[Route]) -> tuple[list[int], list[int]]:
    """Where its two stretches across meet the upright one of a wire to another pin (x), from the left."""

    def met(stretch: tuple[int, int, int]) -> list[int]:
        left, right, y = stretch
        upright = (one.upright for one in others if one.wire.position != route.wire.position)
        return sorted({x for x, top, bottom in upright if left < x < right and top < y < bottom})

    first, second = route.across
    return met(first), met(second)


def drawing(pins: PinMap = WIRED) -> str:
    """The board's edge with the header, the parts, and every wire between."""
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
        'font-family="sans-serif" font-size="12">',
        "<title>Wiring of the 40-pin header</title>",
        '<rect width="100%" height="100%" fill="white"/>',
        f'<rect x="1" y="1" width="{_WIDTH - 2}" height="{_HEIGHT - 2}" fill="none" stroke="black"/>',
        f'<text x="{_BOX_X}" y="30" font-size="16" font-weight="bold">Wiring of the 40-pin header</text>',
        f'<text x="{_BOX_X}" y="50">Power off and unplugged while you wire. Not to scale.</text>',
        *_board(),
        *_header({wire.position for wire in wires(pins)}),
    ]
    ways = routes(pins)
    for _, group in groupby(ways, key=lambda way: way.wire.part):
        lines += _part([*group])
    lines += [_path(way, ways) for way in ways]
    lines += [
        f'<ellipse cx="{before.bend}" cy="{before.start[1]}" rx="3" ry="3"/>'
        for number, way in enumerate(ways)
        for before in ways[:number]
        if way.wire.position == before.wire.position
    ]
    return "\n".join([*lines, "</svg>", ""])


def _board() -> list[str]:
    """The board's outline: the header runs along one long side, from the end without sockets."""
    top, bottom = _TOP - 24, _TOP + 21 * _ROW - 4
    middle = _BOARD_X + _BOARD_W // 2
    return [
        f'<rect x="{_BOARD_X}" y="{top}" width="{_BOARD_W}" height="{bottom - top}" rx="10" fill="none" '
        'stroke="black" stroke-dasharray="6 4"/>',
        f'<text x="{middle}" y="{top - 6}" text-anchor="middle">board, pin 1 at this end</text>',
        f'<text x="{middle}" y="{bottom + 16}" text-anchor="middle">USB at this end</text>',
    ]


def _header(used: set[int]) -> list[str]:
    """All 40 pins; those with a wire are filled."""
    found = []
    for position in range(1, 41):
        x, y = _pin(position)
        near = position % 2 == 1
        fill = "black" if position in used else "white"
        shown = str(position) if near else f"{position} {pin_name(position)}"
        at = f'x="{x - 24}" y="{y - 4}"' if near else f'x="{x + 14}" y="{y + 4}"'
        found.append(f'<circle cx="{x}" cy="{y}" r="8" fill="{fill}" stroke="black"/>')
        found.append(f'<text {at} font-size="10">{shown}</text>')
    return found


def _part(ways: Sequence[Route]) -> list[str]:
    """The box of a part with its terminals."""
    mine = [way.wire for way in ways]
    part = mine[0].part
    name = f"{part.removeprefix('or ')}{' (instead of the other)' if part.startswith('or ') else ''}"
    top = ways[0].start[1] - 30
    size = f'width="{_BOX_W}" height="{_height(mine)}"'
    found = [
        f'<rect x="{_BOX_X}" y="{top}" {size} fill="none" stroke="black"/>',
        f'<text x="{_BOX_X + 8}" y="{top + 16}" font-weight="bold">{escape(name)}</text>',
    ]
    for way in ways:
        shown = f"{way.wire.terminal}{f', {way.wire.through}' if way.wire.through else ''}"
        ends = f"pin {way.wire.position}, {pin_name(way.wire.position)}"
        y = way.start[1] + 4
        found.append(f'<text x="{_BOX_X + 16}" y="{y}">{escape(shown)}</text>')
        found.append(f'<text x="{_BOX_X + _BOX_W - 8}" y="{y}" text-anchor="end">{ends}</text>')
    return found


def _path(way: Route, ways: Sequence[Route]) -> str:
    """A wire, with an arc over each that it crosses."""

    def across(stretch: tuple[int, int, int], over: Sequence[int]) -> str:
        hops = [f"H{x - HOP} a{HOP} {HOP} 0 0 1 {2 * HOP} 0" for x in over]
        return " ".join([*hops, f"H{stretch[1]}"])

    first, second = (across(*pair) for pair in zip(way.across, crossings(way, ways), strict=True))
    last = "" if way.level == way.pin_y else f" V{way.pin_y + 8}"
    x, y = way.start
    return f'<path d="M{x} {y} {first} V{way.level} {second}{last}" fill="none" stroke="black"/>'


def _height(mine: Sequence[Wire]) -> int:
    return 20 * len(mine) + 24


def _pin(position: int) -> tuple[int, int]:
    """Where a pin is drawn: odd ones left, even ones right, from the top."""
    return _HEADER_X + (0 if position % 2 else 44), _TOP + (position - 1) // 2 * _ROW

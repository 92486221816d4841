import re
from xml.etree import ElementTree

import pytest

from assistant.devices.lamp import PATTERNS
from assistant.devices.pins import POSITION, SUPPLY_5V, WIRED, PinMap, problem
from assistant.devices.wiring import lamp_table, pin_name, wires, wiring_table
from assistant.devices.wiring_drawing import crossings, drawing, routes
from tests.write_docs import DRAWING, ROOT

README = (ROOT / "hardware/README.md").read_text(encoding="utf-8")


def test_the_drawing_is_made_from_the_pin_map() -> None:
    assert DRAWING.read_text(encoding="utf-8") == drawing(), "run `python -m tests.write_docs`"


@pytest.mark.parametrize("pins", [WIRED, PinMap(), PinMap(lamp=5, buzzer=6, foot_switch=26)])
def test_the_drawing_shows_every_wire(pins: PinMap) -> None:
    root = ElementTree.fromstring(drawing(pins))
    words = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    for wire in wires(pins):
        assert f"pin {wire.position}, {pin_name(wire.position)}" in words
    assert len([*root.iter("{http://www.w3.org/2000/svg}path")]) == len(wires(pins))
    assert len([*root.iter("{http://www.w3.org/2000/svg}circle")]) == 40


@pytest.mark.parametrize("pins", [WIRED, PinMap(), PinMap(lamp=5, buzzer=6, foot_switch=26)])
def test_a_wire_that_crosses_another_goes_over_it(pins: PinMap) -> None:
    """Each crossing is found from the drawn paths alone, as a pen would meet it."""
    uprights, stretches, hops = [], [], 0
    for path in re.findall(r'<path d="M(\d+) (\d+) ([^"]*)"', drawing(pins)):
        x, y = int(path[0]), int(path[1])
        for word, first, second in re.findall(r"([HV])(\d+)|a\d+ \d+ 0 0 1 (\d+) 0", path[2]):
            if word == "H":
                stretches.append((x, int(first), y))
                x = int(first)
            elif word == "V":
                uprights.append((x, min(y, int(first)), max(y, int(first))))
                y = int(first)
            else:
                x, hops = x + int(second), hops + 1
    bare = [
        (x, y)
        for left, right, y in stretches
        for x, top, bottom in uprights
        if left < x < right and top < y < bottom
    ]
    ways = routes(pins)
    assert bare == []
    assert hops == sum(len(over) for way in ways for over in crossings(way, ways))


def test_wires_cross_in_the_drawing_that_ships() -> None:
    assert any(over for way in routes() for over in crossings(way, routes()))


def test_everything_is_inside_the_frame_and_the_ends_of_the_board_are_named() -> None:
    root = ElementTree.fromstring(drawing())
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    words = [*root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"Wiring of the 40-pin header", "USB at this end", "board, pin 1 at this end"} <= {
        word.text for word in words
    }
    for word in words:
        assert 8 <= float(word.attrib["x"]) <= width - 8
        assert 12 <= float(word.attrib["y"]) <= height - 8


def test_another_pin_moves_its_wire() -> None:
    assert f"| lamp | long leg | {POSITION[5]} | GPIO 5 | 330 ohm |" in wiring_table(PinMap(lamp=5))
    assert "lamp" not in wiring_table(PinMap())


def test_nothing_hangs_on_five_volts_and_no_pin_carries_two_signals() -> None:
    assert not [wire for wire in wires() if wire.position in SUPPLY_5V]
    boards = [wire for wire in wires() if not wire.part.startswith("or ")]
    signals = [wire.position for wire in boards if pin_name(wire.position).startswith("GPIO")]
    assert len(signals) == len(set(signals))


def test_a_lamps_current_is_within_what_a_gpio_gives() -> None:
    # Ohm's law; 16 mA a pin (Raspberry Pi documentation, from memory)
    ohm = float(next(wire.through for wire in wires() if wire.part == "lamp" and wire.through).split()[0])
    assert (3.3 - 1.6) / ohm < 0.016


def test_the_settings_in_the_guide_are_the_drawn_map() -> None:
    found = dict(re.findall(r"^    (lamp|buzzer|foot_switch) = (\d+)$", README, re.MULTILINE))
    assert {part: int(gpio) for part, gpio in found.items()} == WIRED.parts
    assert problem(WIRED) is None


def test_the_table_tells_every_pattern() -> None:
    for signal, pattern in PATTERNS.items():
        assert f"| {pattern.name} | {signal.value} |" in lamp_table()


def test_the_guide_says_what_it_is_not() -> None:
    for words in (
        "no relay",
        "no emergency stop",
        "licensed electrician",
        "not legal for trade",
        "unplugged",
    ):
        assert words in README

"""The parts that a kitchen may fit, put together as the settings name them: lamp, buzzer, foot switch.

None is needed: a part that can't be used at the start costs one line on the terminal and is found later, one
that fails is told; the station works without it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from queue import Queue

from assistant.app.adapters import open_switch
from assistant.config.settings import Settings
from assistant.config.station_settings import PinSettings
from assistant.devices.lamp import Blinker, Output, open_buzzer, open_lamp
from assistant.devices.pins import ABSENT
from assistant.errors import DeviceError
from assistant.station.alive.vital_parts import ALIVE_S, Parts
from assistant.station.fittings import Fittings, FootSwitchFitting
from assistant.station.messages import Message


@dataclass(frozen=True, slots=True)
class PinOutput:
    """A part that a pin switches on and off."""

    name: str
    """What `crumbcall check` calls it."""
    gpio: Callable[[PinSettings], int]
    """Its pin in the settings; `ABSENT` where it is not fitted."""
    open: Callable[[int], Output]
    """Opens it. Raises DeviceError."""


LAMP = PinOutput("lamp", lambda pins: pins.lamp, open_lamp)
BUZZER = PinOutput("buzzer", lambda pins: pins.buzzer, open_buzzer)
PIN_OUTPUTS = (LAMP, BUZZER)


def fit_parts(
    settings: Settings,
    inbox: "Queue[Message]",
    *,
    now: Callable[[], float],
    warn: Callable[[str], None],
    asked: Callable[[], bool] = lambda: False,
    parts: Parts | None = None,
) -> Fittings:
    """The parts that the settings name; `warn` gets a line of each that can't be used now.

    `parts` is told of those, and of what fails or hangs later; None: nobody is.
    """
    followed = parts or Parts(inbox, now)

    def blinker(part: PinOutput) -> Blinker | None:
        gpio = part.gpio(settings.pins)
        if gpio == ABSENT:
            return None
        opened: list[Output] = []
        try:
            opened.append(part.open(gpio))
        except DeviceError as error:
            warn(str(error))
            followed.missing(part.name, str(error))
        return Blinker(
            lambda: opened.pop() if opened else part.open(gpio),
            on_lost=partial(followed.lost, part.name),
            on_found=partial(followed.found, part.name),
            alive=partial(followed.due, part.name, ALIVE_S),
        )

    return Fittings(
        inbox,
        lamp=blinker(LAMP),
        buzzer=blinker(BUZZER),
        foot_switch=FootSwitchFitting(
            lambda: open_switch(settings),
            now,
            settings.foot_switch.listen_s,
            partial(followed.due, "foot switch", ALIVE_S),
        )
        if has_foot_switch(settings)
        else None,
        asked=asked,
    )


def has_foot_switch(settings: Settings) -> bool:
    """Whether the settings name a foot switch, on a pin or a USB pedal."""
    return bool(settings.foot_switch.device) or settings.pins.foot_switch != ABSENT

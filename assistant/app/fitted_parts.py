"""The parts that a kitchen may fit, put together as the settings name them: lamp, buzzer, foot switch.

None is needed: a part that can't be used costs one line on the terminal, and the station works without it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from queue import Queue

from assistant.app.adapters import open_switch
from assistant.config.settings import Settings
from assistant.config.station_settings import PinSettings
from assistant.devices.lamp import Blinker, Output, open_buzzer, open_lamp
from assistant.devices.pins import ABSENT
from assistant.errors import DeviceError
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
) -> Fittings:
    """The parts that the settings name; `warn` gets a line of each that can't be used, and it is left out."""

    def blinker(part: PinOutput) -> Blinker | None:
        gpio = part.gpio(settings.pins)
        if gpio == ABSENT:
            return None
        try:
            return Blinker(part.open(gpio))
        except DeviceError as error:
            warn(str(error))
            return None

    return Fittings(
        inbox,
        lamp=blinker(LAMP),
        buzzer=blinker(BUZZER),
        foot_switch=FootSwitchFitting(lambda: open_switch(settings), now, settings.foot_switch.listen_s)
        if has_foot_switch(settings)
        else None,
        asked=asked,
    )


def has_foot_switch(settings: Settings) -> bool:
    """Whether the settings name a foot switch, on a pin or a USB pedal."""
    return bool(settings.foot_switch.device) or settings.pins.foot_switch != ABSENT

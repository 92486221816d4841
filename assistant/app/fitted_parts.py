"""The parts that a kitchen may fit, put together as the settings name them: lamp, buzzer, foot switch.

None is needed: a part that can't be used costs one line on the terminal, and the station works without it.
"""

from collections.abc import Callable
from queue import Queue

from assistant.app.adapters import open_switch
from assistant.config.settings import Settings
from assistant.devices.lamp import Blinker, Output, open_buzzer, open_lamp
from assistant.devices.pins import ABSENT
from assistant.errors import DeviceError
from assistant.station.fittings import Fittings, FootSwitchFitting
from assistant.station.messages import Message


def fit_parts(
    settings: Settings,
    inbox: "Queue[Message]",
    *,
    now: Callable[[], float],
    warn: Callable[[str], None],
    asked: Callable[[], bool] = lambda: False,
) -> Fittings:
    """The parts that the settings name; `warn` gets a line of each that can't be used, and it is left out."""
    pins = settings.pins

    def blinker(gpio: int, build: Callable[[int], Output]) -> Blinker | None:
        if gpio == ABSENT:
            return None
        try:
            return Blinker(build(gpio))
        except DeviceError as error:
            warn(str(error))
            return None

    return Fittings(
        inbox,
        lamp=blinker(pins.lamp, open_lamp),
        buzzer=blinker(pins.buzzer, open_buzzer),
        foot_switch=FootSwitchFitting(lambda: open_switch(settings), now, settings.foot_switch.listen_s)
        if has_foot_switch(settings)
        else None,
        asked=asked,
    )


def has_foot_switch(settings: Settings) -> bool:
    """Whether the settings name a foot switch, on a pin or a USB pedal."""
    return bool(settings.foot_switch.device) or settings.pins.foot_switch != ABSENT

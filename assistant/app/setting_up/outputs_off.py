"""Switches lamp and buzzer off: what the service runs after the station has ended, however it ended.

A pin stays as it was when its program is killed: the buzzer would sound on, and a lit lamp says that somebody
listens.
"""

import sys
from collections.abc import Callable
from pathlib import Path

from assistant.app.fitted_parts import PIN_OUTPUTS
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.devices.pins import ABSENT
from assistant.errors import CrumbcallError, DeviceError


def switch_outputs_off(settings: Settings, tell: Callable[[str], object]) -> None:
    """Switch off every output that the settings name; `tell` gets a line of each that can't be."""
    for part in PIN_OUTPUTS:
        gpio = part.gpio(settings.pins)
        if gpio == ABSENT:
            continue
        try:
            output = part.open(gpio)
        except DeviceError as error:
            tell(str(error))
            continue
        output.off()
        output.close()


def main(arguments: list[str]) -> int:
    """Switch them off by the settings of the home folder that is named; the exit status."""
    try:
        settings = Settings.load(Home.find(Path(arguments[0]) if arguments else None).settings_file)
    except CrumbcallError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    switch_outputs_off(settings, lambda line: sys.stderr.write(f"{line}\n"))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""The recogniser's process: `python -m assistant.app.apart.recogniser_process CHANNEL HOME`."""

import sys
from contextlib import suppress
from pathlib import Path

import msgspec

from assistant.apart import Apart, inside
from assistant.app.application import Application, open_application
from assistant.batch.record.commands import Command
from assistant.config.home import Home
from assistant.errors import ApartError
from assistant.hearing.recogniser_apart import serve
from assistant.ports import Recogniser

_MODULE = "assistant.app.apart.recogniser_process"


class Wanted(msgspec.Struct, frozen=True):
    """Which recogniser: that of a home's settings, for a cook."""

    config: str
    data: str
    cook: str | None
    """Who was named by voice; None: nobody was."""


def start_recogniser(app: Application, cook: str | None) -> Apart:
    """Start the process that loads the recogniser of this home."""
    wanted = Wanted(str(app.home.config), str(app.home.data), cook)
    return Apart(_MODULE, msgspec.json.encode(wanted).decode(), name="recogniser")


def _load(wanted: Wanted) -> Recogniser[Command]:
    app = open_application(Home(Path(wanted.config), Path(wanted.data)))
    return app.listening_for(wanted.cook).recogniser()


if __name__ == "__main__":
    _wanted = msgspec.json.decode(sys.argv[2], type=Wanted)
    with suppress(ApartError):  # the station is gone
        serve(inside(sys.argv[1]), lambda: _load(_wanted))

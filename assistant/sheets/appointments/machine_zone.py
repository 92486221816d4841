"""The machine's time zone by its name in the tz database, which a calendar needs beside the offset of now."""

import os
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

_LINK = Path("/etc/localtime")
_FOLDER = "zoneinfo/"


def machine_zone(link: Path = _LINK) -> ZoneInfo | None:
    """The zone that TZ names, else that of the link (localtime(5)); None where neither is known."""
    name = os.environ.get("TZ", "").removeprefix(":")
    if not name:
        name = str(link.resolve()).partition(_FOLDER)[2]
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None

"""How masses, percent, times and commands are written on paper."""

from datetime import datetime, tzinfo

from assistant.batch.record.commands import Command, tag_of
from assistant.batch.record.events import Reason
from assistant.dough.amounts import Amount
from assistant.sheets.sheet import Moment

CLOCK_NOT_SET = "clock not set"


def grams(value: float) -> str:
    """A mass: "150 g", "307.6 g"."""
    return f"{number(value)} g"


def percent(value: float) -> str:
    """Hydration to one decimal: "31.0 %"."""
    return f"{value:.1f} %"


def number(value: float) -> str:
    """To one decimal where there is one: "150", "307.6"."""
    return f"{round(value, 1):g}" if abs(value) < 100_000 else f"{value:.0f}"


def length(seconds: float) -> str:
    """A length of time as minutes and seconds, from an hour on with hours: "2:00", "1:05:00"."""
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"


def clock(moment: Moment, zone: tzinfo | None) -> str:
    """Time of day, or that the clock was not set. `zone` None: the machine's own."""
    return f"{_local(moment.wall, zone):%H:%M}" if moment.wall_trusted else CLOCK_NOT_SET


def date_and_time(wall: float, *, trusted: bool, zone: tzinfo | None) -> str:
    """Date and time of day, and beside it whether the clock was not set. `zone` None: the machine's own."""
    return f"{_local(wall, zone):%Y-%m-%d %H:%M}" + ("" if trusted else f" ({CLOCK_NOT_SET})")


def _local(wall: float, zone: tzinfo | None) -> datetime:
    return datetime.fromtimestamp(wall, zone)


REASONS: dict[Reason, str] = {
    "past_high": "it passes high",
    "twin": "the number could be another",
    "unsure": "it was not heard well",
    "time_running": "time was still running",
    "target_outside": "it is outside low and high",
}


def command(said: Command) -> str:
    """What a command asks for, in short: "water 150 g", "crumb ready"."""
    parts = [tag_of(said).replace("_", " ")]
    for name in type(said).__dataclass_fields__:
        value = getattr(said, name)
        if isinstance(value, Amount):
            parts.append(f"{number(value.value)} {value.unit}")
        elif isinstance(value, float):
            parts.append(percent(value) if name == "percent" else length(value))
        elif value is not None:
            parts.append(str(value))
    return " ".join(parts)

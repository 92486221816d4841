"""How numbers, lengths of time and dates are written on paper, in digits. The words are a language's."""

import math
from datetime import UTC, datetime, tzinfo


def number(value: float) -> str:
    """To one decimal where there is one: "150", "307.6"."""
    return f"{round(value, 1):g}" if abs(value) < 100_000 else f"{value:.0f}"


def figure(value: float) -> str:
    """As it was said, to three decimals: "25", "0.125"."""
    return f"{round(value, 3):g}" if abs(value) < 1000 else number(value)


def one_decimal(value: float) -> str:
    """Always with its decimal: "31.0"."""
    return f"{value:.1f}"


def length(seconds: float) -> str:
    """A length of time as minutes and seconds, from an hour on with hours: "2:00", "1:05:00"."""
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"


def time_of_day(wall: float, zone: tzinfo | None) -> str:
    """Hours and minutes of a wall time (s since 1970). `zone` None: the machine's own."""
    return f"{datetime.fromtimestamp(wall, zone):%H:%M}"


def date_and_time(wall: float, zone: tzinfo | None) -> str:
    """Date and time of day of a wall time (s since 1970). `zone` None: the machine's own."""
    return f"{datetime.fromtimestamp(wall, zone):%Y-%m-%d %H:%M}"


def degrees(celsius: float) -> str:
    """A temperature not to be passed, in both scales: "5 C (41 F)"; Fahrenheit down to a whole one."""
    return f"{figure(celsius)} C ({math.floor(celsius * 9 / 5 + 32 + 1e-9)} F)"


def day_text(day: float) -> str:
    """A day (days since 1970) as a date, UTC."""
    return datetime.fromtimestamp(day * 86_400.0, UTC).strftime("%Y-%m-%d")

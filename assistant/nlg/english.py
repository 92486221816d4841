"""Numbers in the words of a cook: 150 g is "one fifty", 1850 g "eighteen fifty", 2000 g "two kilos".

All words can be said back: the grammar hears them as the same number (tested). Hyphens are for the voice; the
grammar does not know them. Where one wording sounds like another number, the wording that sounds apart is
taken: "half a minute", not "thirty seconds", which is heard as thirteen; "two thousand and fifty", not
"twenty fifty", whose neighbour is 2550. Of those that are left the shortest is taken.
"""

from assistant.nlg.rounded import rounded_s

_UNITS = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"),
    *("twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("zero", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_SIGNS = {".": "point", "-": "minus"}
_MINUTE, _HOUR = 60, 3600


class EnglishNumbers:
    """NumberWords in English."""

    def mass(self, grams: float) -> str:
        """A mass in whole grams, with a unit only where it is whole kilos: 305 is "three oh five"."""
        whole = round(abs(grams))
        sign = "minus " if grams < 0 and whole else ""
        kilos, rest = divmod(whole, 1000)
        return sign + (_counted(kilos, "kilo") if 0 < kilos < 100 and rest == 0 else _whole(whole))

    def count(self, number: float) -> str:
        """A count, said like a mass, but never in kilos: 4 is "four"."""
        whole = round(abs(number))
        return ("minus " if number < 0 and whole else "") + _whole(whole)

    def percent(self, percent: float) -> str:
        """A percentage to one decimal, without the word percent: 31.5 is "thirty-one point five"."""
        tenths = round(abs(percent) * 10)
        sign = "minus " if percent < 0 and tenths else ""
        point = f" point {_UNITS[tenths % 10]}" if tenths % 10 else ""
        return f"{sign}{_whole(tenths // 10)}{point}"

    def duration(self, seconds: float) -> str:
        """A time in whole seconds, from an hour on in whole minutes: 135 s is "two minutes fifteen"."""
        whole = round(max(seconds, 0.0))
        if whole >= _HOUR:
            return _hours(round(whole / _MINUTE))
        minutes, rest = divmod(whole, _MINUTE)
        if whole in _BY_PARTS:
            return _BY_PARTS[whole]
        if whole < 100 and whole != _MINUTE:
            return _counted(whole, "second")
        if rest == 0:
            return _counted(minutes, "minute")
        if rest == 30:
            return f"{_whole(minutes)} and a half minutes"
        if rest < 10:
            return f"{_counted(minutes, 'minute')} and {_counted(rest, 'second')}"
        return f"{_counted(minutes, 'minute')} {_whole(rest)}"

    def about(self, seconds: float) -> str:
        """What is left of a time, or went by: 73 s is "about a minute and a quarter", 75 s the same bare."""
        left = rounded_s(seconds)
        if left == round(max(seconds, 0.0)):
            return self.duration(left)
        return f"about {_ONE.get(left) or self.duration(left)}"

    def digits(self, number: float) -> str:
        """A number digit by digit: 150 is "one five zero", 31.5 "three one point five"."""
        signs = f"{number:.3f}".rstrip("0").rstrip(".") if number % 1 else str(int(number))
        return " ".join(_UNITS[int(sign)] if sign.isdecimal() else _SIGNS[sign] for sign in signs)

    def timer(self, name: str | int) -> str:
        """A timer with its word: "the mix", "timer two", "the sauce timer"; "prep one" has one."""
        if isinstance(name, int):
            return f"timer {_whole(name)}"
        if name.startswith("prep "):
            return name
        return f"the {name}" if name in ("mix", "rest") else f"the {name} timer"

    def label(self, name: str | int) -> str:
        """A timer at the head of a short reply: "mix timer", "timer two", "sauce timer"."""
        return f"timer {_whole(name)}" if isinstance(name, int) else f"{name} timer"


_ONE = {_MINUTE: "a minute", _HOUR: "an hour"}
_BY_PARTS = {
    30: "half a minute",
    75: "a minute and a quarter",
    90: "a minute and a half",
    _HOUR // 2: "half an hour",
}
"""Times (s) that have a name of their own."""


def _whole(number: int) -> str:
    if number >= 1000 and (number % 1000 < 100 or number >= 10_000):
        thousands, rest = divmod(number, 1000)
        return f"{_whole(thousands)} thousand{_behind_thousand(rest)}"
    hundreds, rest = divmod(number, 100)
    if hundreds and rest == 0:
        return f"{_below_hundred(hundreds)} hundred"
    if hundreds and rest < 10:
        return f"{_below_hundred(hundreds)} oh {_UNITS[rest]}"
    return f"{_below_hundred(hundreds)} {_below_hundred(rest)}" if hundreds else _below_hundred(rest)


def _behind_thousand(rest: int) -> str:
    hundreds, low = divmod(rest, 100)
    if rest == 0:
        return ""
    if hundreds == 0:
        return f" and {_below_hundred(low)}"
    if 0 < low < 10:
        return f" {_UNITS[hundreds]} hundred and {_UNITS[low]}"
    return f" {_whole(rest)}"


def _below_hundred(number: int) -> str:
    if number < 20:
        return _UNITS[number]
    tens, digit = divmod(number, 10)
    return f"{_TENS[tens]}-{_UNITS[digit]}" if digit else _TENS[tens]


def _counted(number: int, noun: str) -> str:
    return f"{_whole(number)} {noun}{'' if number == 1 else 's'}"


def _hours(minutes: int) -> str:
    hours, rest = divmod(minutes, _MINUTE)
    if rest == 0:
        return _counted(hours, "hour")
    if rest == 30:
        return "an hour and a half" if hours == 1 else f"{_whole(hours)} and a half hours"
    spoken = "an hour" if hours == 1 else _counted(hours, "hour")
    return f"{spoken} {_below_hundred(rest)}" if rest >= 10 else f"{spoken} and {_counted(rest, 'minute')}"

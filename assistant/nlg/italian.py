"""Numbers in the words of an Italian kitchen: 1500 g is "un chilo e mezzo", 90 s "un minuto e mezzo".

Common practice of Italian kitchens, no source; the number words are checked against an outside library.
Half kilos are said as such, all else in grams without a unit: 465 g is "quattrocentosessantacinque".
"""

from assistant.nlg.rounded import rounded_s

_UNITS = (
    *("zero", "uno", "due", "tre", "quattro", "cinque", "sei", "sette", "otto", "nove", "dieci", "undici"),
    *("dodici", "tredici", "quattordici", "quindici", "sedici", "diciassette", "diciotto", "diciannove"),
)
_TENS = (
    *("zero", "dieci", "venti", "trenta", "quaranta", "cinquanta"),
    *("sessanta", "settanta", "ottanta", "novanta"),
)
_SIGNS = {".": "virgola", "-": "meno"}
_MINUTE, _HOUR, _KILO = 60, 3600, 1000
_LABELS = {"mix": "impasto", "rest": "riposo"}
_TIMERS = {"mix": "il tempo d'impasto", "rest": "il riposo"}


class ItalianNumbers:
    """NumberWords in Italian."""

    def mass(self, grams: float) -> str:
        """A mass in whole grams, without the word for them; half and whole kilos by name."""
        whole = round(abs(grams))
        sign = "meno " if grams < 0 and whole else ""
        kilos, rest = divmod(whole, _KILO)
        if whole == 0 or rest not in (0, _KILO // 2):
            return sign + _whole(whole)
        if kilos == 0:
            return f"{sign}mezzo chilo"
        return f"{sign}{_counted(kilos, 'un chilo', 'chili')}{' e mezzo' if rest else ''}"

    def count(self, number: float) -> str:
        """A count, without what is counted: 4 is "quattro"."""
        whole = round(abs(number))
        return ("meno " if number < 0 and whole else "") + _whole(whole)

    def percent(self, percent: float) -> str:
        """A percentage to one decimal: 31.5 is "trentuno virgola cinque"."""
        tenths = round(abs(percent) * 10)
        sign = "meno " if percent < 0 and tenths else ""
        point = f" virgola {_UNITS[tenths % 10]}" if tenths % 10 else ""
        return f"{sign}{_whole(tenths // 10)}{point}"

    def duration(self, seconds: float) -> str:
        """A time in whole seconds, from an hour on in whole minutes: 135 s is "due minuti e un quarto"."""
        whole = round(max(seconds, 0.0))
        if whole >= _HOUR:
            return _hours(round(whole / _MINUTE))
        minutes, rest = divmod(whole, _MINUTE)
        if minutes == 0:
            return _counted(rest, "un secondo", "secondi")
        if rest == 0 and minutes in _PARTS_OF_AN_HOUR:
            return _PARTS_OF_AN_HOUR[minutes]
        spoken = _counted(minutes, "un minuto", "minuti")
        if rest == 0:
            return spoken
        if rest in _PARTS_OF_A_MINUTE:
            return f"{spoken} e {_PARTS_OF_A_MINUTE[rest]}"
        return f"{spoken} e {_whole(rest) if rest >= 10 else _counted(rest, 'un secondo', 'secondi')}"

    def about(self, seconds: float) -> str:
        """What is left of a time, or went by: 73 s is "circa un minuto e un quarto"."""
        left = rounded_s(seconds)
        return self.duration(left) if left == round(max(seconds, 0.0)) else f"circa {self.duration(left)}"

    def digits(self, number: float) -> str:
        """A number digit by digit: 150 is "uno cinque zero", 31.5 "tre uno virgola cinque"."""
        signs = f"{number:.3f}".rstrip("0").rstrip(".") if number % 1 else str(int(number))
        return " ".join(_UNITS[int(sign)] if sign.isdecimal() else _SIGNS[sign] for sign in signs)

    def timer(self, name: str | int) -> str:
        """A timer with its article, masculine all: "il tempo d'impasto", "il timer due", "il timer sugo"."""
        if isinstance(name, int):
            return f"il timer {_whole(name)}"
        return _TIMERS.get(name, f"il timer {name}")

    def label(self, name: str | int) -> str:
        """A timer at the head of a short reply: "timer impasto", "timer due", "timer sugo"."""
        return f"timer {_whole(name)}" if isinstance(name, int) else f"timer {_LABELS.get(name, name)}"


_PARTS_OF_A_MINUTE = {15: "un quarto", 30: "mezzo"}
_PARTS_OF_AN_HOUR = {15: "un quarto d'ora", 30: "mezz'ora", 45: "tre quarti d'ora"}
_BEHIND_AN_HOUR = {15: "un quarto", 30: "mezza", 45: "tre quarti"}


def _hours(minutes: int) -> str:
    hours, rest = divmod(minutes, _MINUTE)
    spoken = _counted(hours, "un'ora", "ore")
    if rest == 0:
        return spoken
    if rest in _BEHIND_AN_HOUR:
        return f"{spoken} e {_BEHIND_AN_HOUR[rest]}"
    return f"{spoken} e {_whole(rest) if rest >= 10 else _counted(rest, 'un minuto', 'minuti')}"


def _counted(number: int, one: str, many: str) -> str:
    return one if number == 1 else f"{_whole(number)} {many}"


def _whole(number: int) -> str:
    """A whole number as one word; "tre" at the end of a longer one is stressed: "trentatré"."""
    joined = _joined(number)
    return f"{joined[:-1]}é" if joined.endswith("tre") and joined != "tre" else joined


def _joined(number: int) -> str:
    if number < 20:
        return _UNITS[number]
    if number < 100:
        tens, digit = divmod(number, 10)
        return _TENS[tens] if digit == 0 else _elided(_TENS[tens], _UNITS[digit], before=("u", "o"))
    if number < _KILO:
        hundreds, rest = divmod(number, 100)
        begin = "cento" if hundreds == 1 else f"{_UNITS[hundreds]}cento"
        return begin if rest == 0 else _elided(begin, _joined(rest), before=("o",))
    if number < _KILO**2:
        thousands, rest = divmod(number, _KILO)
        begin = "mille" if thousands == 1 else f"{_joined(thousands)}mila"
        return begin if rest == 0 else begin + _joined(rest)
    millions, rest = divmod(number, _KILO**2)
    begin = "un milione" if millions == 1 else f"{_whole(millions)} milioni"
    return begin if rest == 0 else f"{begin} e {_joined(rest)}"


def _elided(begin: str, end: str, *, before: tuple[str, ...]) -> str:
    """Two numbers in one word; the first loses its last vowel where the second begins with one of these."""
    return (begin[:-1] if end.startswith(before) else begin) + end

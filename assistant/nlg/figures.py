"""Numbers as figures, for a language whose number words are not written here: its voice reads them."""

from assistant.nlg.rounded import rounded_s

_MINUTE, _HOUR = 60, 3600


class Figures:
    """NumberWords in figures and the international signs of the units of time: 135 s is "2 min 15 s"."""

    def mass(self, grams: float) -> str:
        """A mass in whole grams: 150 is "150"."""
        return str(round(grams))

    def count(self, number: float) -> str:
        """A count: 4 is "4"."""
        return str(round(number))

    def percent(self, percent: float) -> str:
        """A percentage to one decimal: 31.5 is "31.5"."""
        return f"{round(percent, 1) + 0.0:g}"

    def duration(self, seconds: float) -> str:
        """A time in whole seconds, from an hour on in whole minutes: 8412 s is "2 h 20 min"."""
        whole = round(max(seconds, 0.0))
        if whole >= _HOUR:
            whole = round(whole / _MINUTE) * _MINUTE
        hours, rest = divmod(whole, _HOUR)
        minutes, left = divmod(rest, _MINUTE)
        parts = [(hours, "h"), (minutes, "min"), (left, "s")]
        return " ".join(f"{number} {unit}" for number, unit in parts if number) or "0 s"

    def about(self, seconds: float) -> str:
        """What is left of a time, or went by: 73 s is "1 min 15 s"."""
        return self.duration(rounded_s(seconds))

    def digits(self, number: float) -> str:
        """A number digit by digit: 150 is "1 5 0"."""
        return " ".join(f"{number:.3f}".rstrip("0").rstrip(".") if number % 1 else str(int(number)))

    def timer(self, name: str | int) -> str:
        """A timer by its number or name alone."""
        return str(name)

    def label(self, name: str | int) -> str:
        """The same, at the head of a short reply."""
        return str(name)

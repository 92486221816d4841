"""Numbers as they are said: amounts, times, digits, numbers of lots; lower case, number twins favoured."""

from __future__ import annotations

from random import Random

UNITS = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
]
TEENS = ["thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
UNITS += TEENS
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
TWINS = [*TEENS, "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
"""Numbers that are misheard for each other; common practice, no source."""
LETTERS = "bcdfghjklmnpqrstuvwxyz"
"""Letters of a lot's number that the grammar takes by their names."""


def below_hundred(n: int) -> str:
    """0..99 in words."""
    if n < 20:
        return UNITS[n]
    tens = TENS[n // 10 - 2]
    return tens if n % 10 == 0 else f"{tens} {UNITS[n % 10]}"


def number(n: int, rng: Random) -> str:
    """1..9999 in one of the ways cooks say it ("one fifty", "one hundred and fifty", "one five zero")."""
    if n < 100:
        return below_hundred(n)
    way = rng.random()
    if n < 1000:
        hundreds, rest = UNITS[n // 100], n % 100
        if rest == 0:
            return "a hundred" if n == 100 and way < 0.3 else f"{hundreds} hundred"
        if rest >= 10 and way < 0.4:
            return f"{hundreds} {below_hundred(rest)}"
        if way < 0.55:
            return " ".join(("oh" if d == "0" and rng.random() < 0.4 else UNITS[int(d)]) for d in str(n))
        return f"{hundreds} hundred {'and ' if rng.random() < 0.5 else ''}{below_hundred(rest)}"
    thousands, rest = n // 1000, n % 1000
    if rest % 100 == 0 and rest and way < 0.4:
        return f"{below_hundred(n // 100)} hundred"
    said = f"{below_hundred(thousands)} thousand"
    if rest == 0:
        return said
    return f"{said} {'and ' if rest < 100 or rng.random() < 0.2 else ''}{number(rest, rng)}"


def twin_number(rng: Random) -> str:
    """A number that has a twin in it, alone or inside a larger one."""
    twin = rng.choice(TWINS)
    way = rng.random()
    if way < 0.45:
        return twin
    if way < 0.65:
        return f"{rng.choice(UNITS[1:10])} {twin}"
    if way < 0.85:
        return f"{rng.choice(UNITS[1:10])} hundred {'and ' if rng.random() < 0.5 else ''}{twin}"
    if twin in TEENS:
        return f"{twin} hundred"
    return f"{twin} {rng.choice(UNITS[1:10])}"


def digits(rng: Random, low: int, high: int) -> str:
    """`low` to `high` digits, one by one, nought in two ways."""
    return " ".join(rng.choice([*UNITS[:10], "oh"]) for _ in range(rng.randint(low, high)))


def plain_amount(rng: Random) -> str:
    """A number as of grams, without its unit."""
    way = rng.random()
    if way < 0.45:
        return twin_number(rng)
    if way < 0.8:
        return number(rng.randrange(5, 1000, 5), rng)
    return number(rng.randint(1, 2999), rng)


def _kilos(rng: Random) -> str:
    unit = rng.choice(["kilo", "kilos", "litres", "pounds", "kilograms"])
    one = unit.removesuffix("s")
    small = rng.choice(UNITS[1:8])
    return rng.choice(
        [
            f"half a {one}",
            f"a {one} and a half",
            f"a {one}",
            f"{small} and a half {unit}",
            f"{small} point {rng.choice(UNITS[:10])} {unit}",
            f"{small} {unit}",
            f"point {rng.choice(UNITS[1:10])} {unit}",
        ]
    )


def amount(rng: Random) -> str:
    """An amount as it is said: mostly a bare number (grams), sometimes with its unit."""
    way = rng.random()
    if way < 0.6:
        return plain_amount(rng)
    if way < 0.85:
        return f"{plain_amount(rng)} {rng.choice(['grams', 'grams', 'gram', 'millilitres', 'ounces'])}"
    return _kilos(rng)


def duration(rng: Random) -> str:
    """A time as it is said."""
    n = rng.choice([*TWINS[:14], below_hundred(rng.randint(1, 59)), rng.choice(UNITS[1:])])
    way = rng.random()
    if way < 0.55:
        return f"{n} minutes" if n != "one" else "one minute"
    if way < 0.75:
        return f"{n} seconds"
    if way < 0.9:
        return rng.choice(
            [
                "half a minute",
                "a minute and a half",
                "an hour",
                "half an hour",
                "a quarter of an hour",
                "two and a half minutes",
            ]
        )
    return f"{n} minutes {rng.choice(TWINS)} seconds"


def lot_number(rng: Random) -> str:
    """A lot's number: digits, or a letter's name before or behind figures."""
    if rng.random() < 0.4:
        return digits(rng, 2, 5)
    figures = digits(rng, 1, 3) if rng.random() < 0.6 else below_hundred(rng.randint(1, 99))
    letter = rng.choice(LETTERS)
    return f"{letter} {figures}" if rng.random() < 0.6 else f"{figures} {letter}"

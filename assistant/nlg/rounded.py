"""How exactly a time that is left, or went by, is worth saying: the longer, the coarser."""

_MINUTE, _HOUR = 60, 3600
_STEPS = ((10, 1), (_MINUTE, 5), (2 * _MINUTE, 15), (10 * _MINUTE, 30), (_HOUR, _MINUTE))
"""Below so many seconds -> to the nearest so many (common practice, no source)."""
_LONG = 5 * _MINUTE
"""From an hour on."""


def rounded_s(seconds: float) -> int:
    """A time (s), as exactly as it is worth saying; less than nothing is 0."""
    whole = round(max(seconds, 0.0))
    step = next((step for below, step in _STEPS if whole < below), _LONG)
    return (whole + step // 2) // step * step

"""Granulation of semolina, and what it does to resting. Micrometres; times in seconds.

For pasta 250 to 350 micrometres are usual, and smaller grains take up water faster (trade page, low
authority, read). Mills use the words differently, one page has coarse from 600 on: who knows the figure
writes it. Time of water uptake goes with the square of the size: derived, of diffusion into a grain; that
size matters is in Hebrard et al. 2003, Powder Technology 130:211 (abstract read). That coarse semolina rests
longer is common practice, no source.
"""

from typing import Literal

from assistant.dough.ranges import GRANULATION_UM

Grain = Literal["fine", "medium", "coarse"]
SIZES_UM: dict[Grain, float] = {"fine": 200.0, "medium": 350.0, "coarse": 500.0}
"""Size that stands for each word (micrometres): common practice, no source."""
_COARSE_FROM_UM = 425.0
"""Half way from medium to coarse (micrometres)."""
MOST = 2.0
"""A rest is never made longer than this many times: assumption of ours, the squeeze decides."""


def is_coarse(size_um: float | None) -> bool:
    """Whether a flour of this size (micrometres) rests longer; None: not known."""
    return size_um is not None and size_um >= _COARSE_FROM_UM


def rest_s(usual_s: float, size_um: float | None) -> float:
    """Rest of a crumb (s) where `usual_s` suits medium semolina; a finer one rests no shorter.

    A longer rest does no harm, a shorter one leaves dry specks: common practice, no source. Rounded to five
    seconds.
    """
    if size_um is None or not is_coarse(size_um):
        return usual_s
    times = min(MOST, (GRANULATION_UM.check(size_um) / SIZES_UM["medium"]) ** 2)
    return round(usual_s * times / 5.0) * 5.0

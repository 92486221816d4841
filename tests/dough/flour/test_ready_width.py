"""How wide ready is, by what kitchens of known widths say."""

import random

import pytest

from assistant.dough.evidence import WINDOW_PCT, Squeeze, bounds
from assistant.dough.flour.lot_history import noise
from assistant.dough.flour.ready_width import ready_width
from assistant.dough.lots import Seen


def batches(width: float, count: int, seed: int) -> list[Seen]:
    """Batches of a lot (ends around 31, 0.35): poured to 30.3, by 0.7 till ready, down by 0.4 when wet."""
    luck, made = random.Random(seed), []
    for number in range(count):
        end, now, said = luck.gauss(31.0, 0.35), 30.3, list[Squeeze]()
        while not said or (said[-1][0] != "ready" and len(said) < 8):
            felt = now + luck.gauss(0.0, 0.1)
            said.append(("dry" if felt < end else "ready" if felt <= end + width else "wet", now))
            now += 0.7 if said[-1][0] == "dry" else -0.4
        found = bounds(said)
        if found is not None:
            made.append(Seen(20_000.0 + number, found, number, None, tuple(said)))
    return made


def found(width: float, seed: int) -> float:
    return ready_width([(batches(width, 24, seed + k), 31.0) for k in range(5)], 1.0, noise(0.35))


@pytest.mark.parametrize(("width", "least", "most"), [(0.5, 0.4, 0.75), (1.0, 0.8, 1.3)])
def test_a_width_is_found_again(width: float, least: float, most: float) -> None:
    assert least <= found(width, 3) <= most


def test_a_narrow_ready_is_told_from_a_wide_one() -> None:
    assert found(0.5, 7) < found(1.0, 7) < found(1.6, 7) + 0.3


def test_where_nothing_was_wet_it_is_what_is_usual() -> None:
    never_wet = [one for one in batches(1.0, 40, 1) if all(finding != "wet" for finding, _ in one.squeezes)]
    assert ready_width([(never_wet, 31.0)], 1.0, noise(0.35)) == WINDOW_PCT
    assert ready_width([], 1.0, noise(0.35)) == WINDOW_PCT


def test_one_wet_batch_moves_it_little() -> None:
    usual = batches(1.0, 12, 1)
    odd = Seen(20_100.0, usual[0].bounds, 99, None, (("dry", 30.9), ("wet", 31.2)))
    assert ready_width([([*usual, odd], 31.0)], 1.0, noise(0.35)) > 0.6

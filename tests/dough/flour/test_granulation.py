"""Granulation and resting. That coarse semolina rests longer is common practice, no source."""

import pytest

from assistant.dough.flour.granulation import is_coarse, rest_s
from assistant.errors import DoughError


@pytest.mark.parametrize(
    ("grain", "seconds"),
    [
        (None, 90.0),
        (200.0, 90.0),
        (350.0, 90.0),
        (420.0, 90.0),
        # By the square of the size (derived of diffusion): (450 / 350)^2 = 1.65, and twice at most.
        (450.0, 150.0),
        (500.0, 180.0),
        (800.0, 180.0),
    ],
)
def test_a_coarse_semolina_rests_longer_and_a_fine_one_no_shorter(
    grain: float | None, seconds: float
) -> None:
    assert rest_s(90.0, grain) == seconds
    assert is_coarse(grain) is (seconds > 90.0)


@pytest.mark.parametrize("size", [2000.0])
def test_what_is_no_semolina_is_refused(size: float) -> None:
    with pytest.raises(DoughError, match="from 50 to 1000 µm is allowed"):
        rest_s(90.0, size)

"""Which frames are left out before the search."""

import numpy as np

from assistant.asr.silence import spoken_frames


def left_of(*share: float) -> list[int]:
    """Frames that stay where the blank, the first symbol, has these probabilities."""
    probability = np.array([[one, 1 - one] for one in share]).reshape(-1, 2)
    return [int(frame) for frame in spoken_frames(np.log(probability).astype(np.float32), 0)]


def test_of_a_run_of_blanks_the_least_sure_frame_stays() -> None:
    assert left_of(0.999, 0.995, 0.999, 0.5, 0.999, 0.999, 0.998) == [1, 3, 6]
    assert left_of(0.2, 0.999, 0.3) == [0, 1, 2]
    assert left_of(0.999) == [0]
    assert left_of() == []
    assert left_of(0.98, 0.98) == [0, 1]

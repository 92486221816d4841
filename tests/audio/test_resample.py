"""Change of rate against the mathematics of a sine."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.audio.resample import Resampler, resample
from assistant.ports import Sound
from assistant.testing.sound import hum


def decibels(part: float, whole: float) -> float:
    return float(20 * np.log10(max(part, 1e-9) / whole))


@pytest.mark.parametrize(
    ("source", "target"), [(22_050, 48_000), (22_050, 44_100), (48_000, 16_000), (44_100, 16_000)]
)
@pytest.mark.parametrize("hertz", [200.0, 1_000.0, 3_400.0])
def test_a_sine_stays_the_same_sine_in_the_same_place(source: int, target: int, hertz: float) -> None:
    out = resample(hum(0.5, source, hertz), target)
    assert (out.rate, len(out.pcm)) == (target, target // 2)
    middle = slice(target // 10, target * 4 // 10)
    error = out.pcm[middle].astype(float) - hum(0.5, target, hertz).pcm[middle]
    assert decibels(np.abs(error).max(), 16_384) < -60


def test_what_16_khz_cannot_carry_is_gone_instead_of_folded_into_speech() -> None:
    out = resample(hum(0.5, 48_000, 11_000.0), 16_000).pcm[1_600:6_400]
    assert decibels(np.abs(out.astype(float)).max(), 16_384) < -60


@settings(max_examples=20)
@given(st.lists(st.integers(1, 2_000), min_size=1, max_size=30), st.sampled_from([44_100, 48_000, 16_000]))
def test_the_stream_gives_the_same_whatever_its_blocks(lengths: list[int], rate: int) -> None:
    pcm = np.random.default_rng(1).integers(-9_000, 9_000, sum(lengths)).astype(np.int16)
    stream = Resampler(rate, 16_000)
    blocks = [stream.feed(block) for block in np.split(pcm, np.cumsum(lengths)[:-1])]
    got = np.concatenate([*blocks, stream.flush()])
    whole = resample(Sound(pcm, rate), 16_000).pcm
    assert abs(len(got) - len(whole)) <= 1
    shared = min(len(got), len(whole))
    assert np.abs(got[:shared].astype(int) - whole[:shared]).max(initial=0) <= 2


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_the_stream_holds_back_50_ms_at_most(rate: int) -> None:
    stream = Resampler(rate, 16_000)
    block = hum(0.02, rate).pcm
    given_s = got_s = 0.0
    for _ in range(50):
        given_s += len(block) / rate
        got_s += len(stream.feed(block)) / 16_000
        assert given_s - got_s < 0.05


def test_nothing_stays_nothing() -> None:
    assert len(resample(Sound(np.zeros(0, np.int16), 22_050), 48_000).pcm) == 0

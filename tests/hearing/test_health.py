"""What stands in the way of hearing is told once, when it begins, and when it is over."""

import numpy as np
import pytest

from assistant.hearing.health import CLEAN_AFTER, Health, HealthLimits, Hearing
from assistant.hearing.level import SILENCE_DBFS, level_dbfs, own_snr_db, speech_dbfs
from assistant.ports import SPEECH_RATE, Pcm


def noise(dbfs: float, seconds: float = 1.0, seed: int = 1) -> Pcm:
    wave = np.random.default_rng(seed).normal(0, 32768 * 10 ** (dbfs / 20), round(seconds * SPEECH_RATE))
    pcm: Pcm = np.clip(wave, -32768, 32767).astype(np.int16)
    return pcm


def hear(health: Health, dbfs: float, seconds: int) -> list[Hearing]:
    """Seconds of a noise; what was told in them."""
    told = [health.feed(noise(dbfs, seed=second)) for second in range(seconds)]
    return [one for one in told if one is not None]


def cook(health: Health, dbfs: float = -25.0, times: int = 3) -> None:
    for number in range(times):
        health.utterance(noise(dbfs, seed=100 + number), understood=True)


def test_a_quiet_room_is_well() -> None:
    health = Health()
    cook(health)
    assert hear(health, -55.0, 15) == []
    assert health.snr_db == pytest.approx(30.0, abs=1.0)
    assert health.noise_dbfs == pytest.approx(-55.0, abs=1.0)


def test_too_loud_is_told_once_and_when_it_is_over() -> None:
    health = Health()
    hear(health, -55.0, 10)
    cook(health)
    assert hear(health, -24.0, 40) == [Hearing.TOO_LOUD]
    assert hear(health, -55.0, 20) == [Hearing.WELL]


def test_a_clatter_is_not_too_loud() -> None:
    health = Health()
    hear(health, -55.0, 10)
    cook(health)
    assert hear(health, -20.0, 2) == []
    assert hear(health, -55.0, 10) == []


def test_at_the_limit_it_does_not_chatter() -> None:
    health = Health(HealthLimits(least_snr_db=3.0, relief_db=3.0))
    hear(health, -40.0, 10)
    cook(health)
    assert hear(health, -24.0, 20) == [Hearing.TOO_LOUD]
    assert hear(health, -26.5, 30) == []  # 1.5 dB below the voice; well again from 6 dB on


def test_before_a_sentence_was_understood_two_faint_ones_tell() -> None:
    health = Health()
    hear(health, -25.0, 10)
    assert health.snr_db is None
    assert health.utterance(noise(-24.0), understood=False) is None
    assert health.utterance(noise(-24.0), understood=False) is Hearing.TOO_LOUD
    assert health.utterance(noise(-24.0), understood=False) is None


def test_talk_that_stands_out_is_no_reason() -> None:
    health = Health()
    hear(health, -50.0, 10)
    assert [health.utterance(noise(-20.0), understood=False) for _ in range(5)] == [None] * 5


def test_clipping_is_told_and_goes() -> None:
    health = Health()
    loud = noise(3.0)
    assert health.utterance(loud, understood=True) is Hearing.CLIPPED
    assert health.utterance(loud, understood=True) is None
    told = [health.utterance(noise(-20.0), understood=True) for _ in range(CLEAN_AFTER)]
    assert told == [None] * (CLEAN_AFTER - 1) + [Hearing.WELL]


def test_level_of_speech_leaves_pauses_and_noise_out() -> None:
    speech, around = noise(-20.0), noise(-30.0, 3.0, seed=2).astype(np.int32)
    around[:SPEECH_RATE] += speech
    mixed = around.astype(np.int16)
    assert speech_dbfs(mixed, -30.0) == pytest.approx(level_dbfs(speech), abs=0.3)
    assert level_dbfs(mixed) < level_dbfs(speech) - 3
    assert speech_dbfs(noise(-30.0), -30.0) == SILENCE_DBFS
    assert speech_dbfs(speech[:100], -30.0) == SILENCE_DBFS


@pytest.mark.parametrize("ratio", [20.0, 10.0, 5.0])
def test_an_utterance_tells_how_far_it_stands_out(ratio: float) -> None:
    around = noise(-50.0, 2.0).astype(np.int32)
    around[8000:24000] += noise(-50.0 + ratio, 1.0, seed=9)
    silence = np.zeros(4800, np.int16)
    assert own_snr_db(np.concatenate([silence, around.astype(np.int16)])) == pytest.approx(ratio, abs=1.0)


def test_of_silence_there_is_no_ratio() -> None:
    assert own_snr_db(np.zeros(SPEECH_RATE, np.int16)) is None
    assert own_snr_db(np.zeros(0, np.int16)) is None


def test_between_exact_zeros_the_room_is_not_known() -> None:
    health = Health()
    silence = np.zeros(SPEECH_RATE, np.int16)
    told = []
    for second in range(20):
        told += [health.feed(noise(-20.0, seed=second)), health.feed(silence)]
        told.append(health.utterance(noise(-20.0, seed=second), understood=second % 5 == 0))
    assert told == [None] * 60

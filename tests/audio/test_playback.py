"""The speaker, on a fake sound library whose time a test moves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.audio.loudness import LOUDEST, amplify
from assistant.audio.playback import SoundSpeaker
from assistant.audio.sample_queue import SampleQueue
from assistant.errors import SoundError
from assistant.ports import Pcm
from assistant.testing.sound import check_speaker, hum
from assistant.testing.sound_card import FakeSoundCard

RATE = 48_000


def out(card: FakeSoundCard) -> Pcm:
    """What came out on the left."""
    left: Pcm = card.streams[0].heard[:, 0]
    return left


def test_it_keeps_the_contract() -> None:
    card = FakeSoundCard()
    check_speaker(SoundSpeaker(library=card), card.run)


def test_what_comes_out_is_what_was_played_on_both_sides() -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card)
    sounds = hum(0.11, RATE, 500), hum(0.05, RATE, 900)
    for sound in sounds:
        speaker.play(sound)
    card.run(0.2)
    both = np.concatenate([sound.pcm for sound in sounds])
    assert (out(card)[: len(both)] == both).all()
    assert not out(card)[len(both) :].any()
    assert (card.streams[0].heard[:, 0] == card.streams[0].heard[:, 1]).all()


def test_a_device_with_one_channel_gets_one() -> None:
    card = FakeSoundCard([("puck", 1, 1, 16_000)])
    speaker = SoundSpeaker(library=card)
    speaker.play(hum(0.04))
    card.run(0.04)
    assert (card.streams[0].heard == hum(0.04).pcm[:, None]).all()


def test_it_is_busy_until_the_last_sample_left_the_device() -> None:
    card = FakeSoundCard(latency_s=0.15)
    speaker = SoundSpeaker(library=card)
    speaker.play(hum(0.1, RATE))
    card.run(0.1 + 0.15 + 0.015)  # its last block was asked for after 0.1 s
    assert speaker.busy
    assert not speaker.wait_finished(0)
    card.run(0.04)
    assert not speaker.busy
    assert speaker.wait_finished(0)


def test_it_says_once_that_it_finished() -> None:
    card = FakeSoundCard()
    reported: list[float] = []
    speaker = SoundSpeaker(library=card, on_finished=lambda: reported.append(card.time))
    card.run(0.2)
    assert reported == []
    speaker.play(hum(0.1, RATE))
    speaker.play(hum(0.1, RATE))
    card.run(1)
    assert len(reported) == 1
    assert reported[0] - 0.2 == pytest.approx(0.2 + 0.05, abs=0.041)


def test_a_stop_is_silent_within_a_block_and_without_a_click() -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card)
    speaker.play(hum(3, RATE, 312.5))  # cut at a crest without the fade
    speaker.play(hum(3, RATE, 312.5))
    card.run(0.1)
    speaker.stop()
    card.run(0.1)
    wave = out(card).astype(int)
    steepest = np.abs(np.diff(hum(0.1, RATE, 312.5).pcm.astype(int))).max()
    assert not wave[round(0.1 * RATE) + round(0.005 * RATE) :].any()
    assert np.abs(np.diff(wave)).max() <= steepest + 150
    assert not speaker.busy


def test_more_than_a_minute_is_dropped_and_counted_not_kept() -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card, longest_s=1)
    for _ in range(3):
        speaker.play(hum(0.45, RATE))
    assert speaker.dropped == 1
    card.run(0.8)
    assert speaker.busy
    card.run(0.2)
    assert not speaker.busy


@pytest.mark.parametrize("how", ["unplug", "stall"])
def test_a_lost_device_is_not_busy_for_ever_and_refuses_in_one_line(how: str) -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card)
    speaker.play(hum(5))
    card.run(0.1)
    getattr(card, how)()
    card.run(1.1)
    assert not speaker.busy
    assert speaker.lost
    assert speaker.wait_finished(0)
    with pytest.raises(SoundError) as refusal:
        speaker.play(hum(0.1))
    assert str(refusal.value) == "the speaker 'desk' is gone; plug it in again, the timers go on"
    speaker.close()


def test_the_loss_is_reported_at_once() -> None:
    card = FakeSoundCard()
    reported: list[bool] = []
    SoundSpeaker(library=card, on_finished=lambda: reported.append(True))
    card.unplug()
    assert reported == [True]


def test_closing_is_no_loss() -> None:
    card = FakeSoundCard()
    reported: list[bool] = []
    speaker = SoundSpeaker(library=card, on_finished=lambda: reported.append(True))
    speaker.play(hum(1))
    speaker.close()
    assert reported == []
    assert not speaker.lost


def test_in_a_long_quiet_the_stream_rests_and_a_sound_wakes_it() -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card, rest_s=2)
    speaker.play(hum(0.1, RATE))
    card.run(5)
    assert not card.streams[0].running
    assert not speaker.lost
    before = len(out(card))
    speaker.play(hum(0.1, RATE, 700))
    assert speaker.busy
    card.run(0.1)
    assert (out(card)[before : before + 4_800] == hum(0.1, RATE, 700).pcm).all()
    card.run(0.1)
    assert not speaker.busy


def test_a_device_that_went_while_the_stream_rested_is_lost() -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card, rest_s=2)
    card.run(3)
    card.refuses = "Device unavailable [PaErrorCode -9985]"
    with pytest.raises(SoundError, match="is gone"):
        speaker.play(hum(0.1))
    assert speaker.lost
    assert not speaker.busy


def test_a_device_that_cannot_be_opened_is_one_line() -> None:
    card = FakeSoundCard()
    card.refuses = "Device unavailable [PaErrorCode -9985]"
    with pytest.raises(SoundError) as refusal:
        SoundSpeaker(library=card)
    assert str(refusal.value) == (
        "the speaker 'desk' can't be opened: Device unavailable [PaErrorCode -9985]; is something else "
        "using it?"
    )


def test_louder_and_softer() -> None:
    card = FakeSoundCard()
    speaker = SoundSpeaker(library=card, volume=0.5)
    speaker.play(hum(0.02, RATE))
    card.run(0.02)
    assert np.abs(out(card) - hum(0.02, RATE).pcm / 2).max() <= 0.5
    with pytest.raises(SoundError) as refusal:
        speaker.volume = 7
    assert str(refusal.value) == "volume 7 is not between 0 and 4; 1 plays the voice as it is"
    assert speaker.volume == 0.5


EVERY_SAMPLE = np.arange(-32_768, 32_768).astype(np.int16)


@given(st.floats(1.01, LOUDEST))
@settings(max_examples=20)
def test_louder_never_clips_and_keeps_the_order_of_samples(volume: float) -> None:
    louder = amplify(EVERY_SAMPLE, volume).astype(int)
    assert np.abs(louder).max() <= 32_767
    assert (np.diff(louder) >= 0).all()
    quiet = np.abs(EVERY_SAMPLE.astype(int)) <= 0.7 * 32_768 / volume - 1
    assert np.abs(louder - EVERY_SAMPLE * volume)[quiet].max() <= 0.51


def test_as_it_is_is_exact() -> None:
    assert (amplify(EVERY_SAMPLE, 1.0) == EVERY_SAMPLE).all()


@settings(max_examples=50)
@given(st.lists(st.one_of(st.integers(0, 50), st.tuples(st.integers(1, 40))), max_size=40))
def test_the_queue_gives_every_sample_once_in_order(steps: list[int | tuple[int]]) -> None:
    """A number puts as many samples; a number in brackets takes a block of that size."""
    queue = SampleQueue(10_000)
    put = 0
    got: list[int] = []
    for step in steps:
        if isinstance(step, int):
            queue.put(np.arange(put + 1, put + step + 1).astype(np.int16))
            put += step
        else:
            block = np.full(step[0], -1, np.int16)
            filled = queue.take(block)
            got += block[:filled].tolist()
            assert not block[filled:].any()
            assert filled == min(step[0], put - (len(got) - filled))
    assert got == list(range(1, len(got) + 1))
    assert queue.empty == (put == len(got))

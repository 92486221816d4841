"""The microphone, on a fake sound library whose time a test moves."""

import threading
from itertools import islice

import numpy as np
import pytest

from assistant.audio.capture import SoundMicrophone
from assistant.audio.resample import resample
from assistant.errors import SoundError
from assistant.ports import Pcm, Sound
from assistant.testing.sound import FakeMicrophone, check_microphone, hum
from assistant.testing.sound_card import FakeSoundCard


def noise(seconds: float, rate: int) -> Pcm:
    return np.random.default_rng(1).integers(-3_000, 3_000, round(seconds * rate)).astype(np.int16)


def until_lost(microphone: SoundMicrophone) -> tuple[list[Pcm], str]:
    """All blocks up to the loss, and its line."""
    blocks: list[Pcm] = []
    with pytest.raises(SoundError) as loss:
        blocks.extend(microphone.blocks())
    return blocks, str(loss.value)


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_it_keeps_the_contract(rate: int) -> None:
    card = FakeSoundCard([("desk", 2, 2, rate)])
    microphone = SoundMicrophone(library=card)
    card.hear(noise(1, rate))
    card.run(1)
    check_microphone(microphone)


def test_the_fake_keeps_the_contract() -> None:
    check_microphone(FakeMicrophone(noise(1, 16_000)))


def test_the_fake_can_be_lost() -> None:
    gone = SoundError("the microphone 'desk' stopped; check its plug")
    stream = FakeMicrophone(noise(0.064, 16_000), lost=gone).blocks()
    assert len(list(islice(stream, 2))) == 2
    with pytest.raises(SoundError, match="stopped"):
        next(stream)


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_the_blocks_are_the_sound_at_16_khz(rate: int) -> None:
    card = FakeSoundCard([("desk", 1, 0, rate)])
    microphone = SoundMicrophone(library=card)
    spoken = hum(1.0, rate, 700)
    card.hear(spoken.pcm)
    card.run(1.2)
    card.unplug()
    blocks, _ = until_lost(microphone)
    got = np.concatenate(blocks)
    expected = resample(Sound(spoken.pcm, rate), 16_000).pcm
    assert microphone.rate == 16_000
    shared = min(len(got), len(expected))
    assert shared > 0.95 * 16_000
    assert np.abs(got[:shared].astype(int) - expected[:shared]).max() <= 2


def test_an_ended_stream_is_a_loss_after_what_it_still_gave() -> None:
    card = FakeSoundCard()
    microphone = SoundMicrophone(library=card)
    card.hear(noise(0.32, 48_000))
    card.run(0.32)
    card.unplug()
    blocks, line = until_lost(microphone)
    assert sum(map(len, blocks)) > 0.25 * 16_000
    assert line == "the microphone 'desk' stopped; check its plug"


def test_a_stream_that_falls_silent_is_a_loss() -> None:
    microphone = SoundMicrophone(library=FakeSoundCard(), no_block_s=0.01)
    assert until_lost(microphone)[1] == "the microphone 'desk' sent nothing for 0.01 s; check its plug"


def test_five_seconds_of_exact_zeros_are_a_loss() -> None:
    card = FakeSoundCard()
    microphone = SoundMicrophone(library=card)
    card.hear(noise(0.096, 48_000))
    card.run(5.5)
    blocks, line = until_lost(microphone)
    assert sum(map(len, blocks)) / 16_000 == pytest.approx(5.1, abs=0.1)
    assert line == "the microphone 'desk' sends nothing but zeros for 5 s; is it muted or unplugged?"


def test_a_single_step_of_noise_is_no_loss() -> None:
    card = FakeSoundCard()
    microphone = SoundMicrophone(library=card)
    faint = np.zeros(9 * 48_000, np.int16)
    faint[:: 4 * 48_000] = 1
    card.hear(faint)
    card.run(8.9)
    card.unplug()
    assert until_lost(microphone)[1] == "the microphone 'desk' stopped; check its plug"


def test_zeros_may_be_allowed() -> None:
    card = FakeSoundCard()
    microphone = SoundMicrophone(library=card, zeros_s=float("inf"))
    card.run(8)
    card.unplug()
    assert "stopped" in until_lost(microphone)[1]


def test_a_card_that_is_gone_is_a_loss_though_sound_still_comes() -> None:
    card = FakeSoundCard([("Table Puck: USB Audio (hw:2,0)", 1, 0, 48_000)])
    text = " 2 [Puck           ]: USB-Audio - Table Puck\n"
    microphone = SoundMicrophone(library=card, cards=lambda: text)
    card.hear(noise(4, 48_000))
    card.run(4)
    blocks = microphone.blocks()
    assert len(list(islice(blocks, 40))) == 40
    text = ""
    with pytest.raises(SoundError) as loss:
        list(blocks)
    assert str(loss.value) == "the microphone 'Table Puck: USB Audio (hw:2,0)' is gone; plug it in again"


def test_what_nobody_fetches_is_dropped_and_counted() -> None:
    card = FakeSoundCard([("desk", 1, 0, 16_000)])
    microphone = SoundMicrophone(library=card, block_s=0.1)
    card.hear(noise(12, 16_000))
    card.run(12.05)
    assert microphone.overflows == 20
    card.streams[0].overflow = True
    card.run(0.1)
    assert microphone.overflows == 22


def test_closing_ends_the_blocks_that_another_thread_waits_for() -> None:
    card = FakeSoundCard()
    microphone = SoundMicrophone(library=card, no_block_s=5)
    ended = threading.Event()

    def listen() -> None:
        list(microphone.blocks())
        ended.set()

    thread = threading.Thread(target=listen)
    thread.start()
    microphone.close()
    assert ended.wait(5)
    thread.join()


def test_a_device_that_cannot_be_opened_is_one_line() -> None:
    card = FakeSoundCard()
    card.refuses = "Invalid sample rate [PaErrorCode -9997]"
    with pytest.raises(SoundError) as refusal:
        SoundMicrophone(library=card)
    assert str(refusal.value) == (
        "the microphone 'desk' can't be opened: Invalid sample rate [PaErrorCode -9997]; is something "
        "else using it?"
    )

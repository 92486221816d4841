"""Input and output reopened together, because the library looks for devices only when it starts."""

import threading
from itertools import islice

import numpy as np
import pytest

from assistant.audio.capture import SoundMicrophone
from assistant.audio.owner import SoundOwner
from assistant.audio.playback import SoundSpeaker
from assistant.errors import SoundError
from assistant.testing.sound import check_speaker, hum
from assistant.testing.sound_card import FakeSoundCard


def owner_of(card: FakeSoundCard) -> SoundOwner:
    return SoundOwner(
        lambda: SoundSpeaker(library=card), lambda: SoundMicrophone(library=card, no_block_s=5), library=card
    )


def noise(card: FakeSoundCard, seconds: float = 1.0) -> None:
    card.hear(np.random.default_rng(1).integers(-3_000, 3_000, round(48_000 * seconds)).astype(np.int16))
    card.run(seconds)


def test_it_keeps_the_contract_of_a_speaker() -> None:
    card = FakeSoundCard()
    check_speaker(owner_of(card), card.run)


def test_the_first_microphone_needs_no_search() -> None:
    card = FakeSoundCard()
    owner = owner_of(card)
    microphone = owner.open_microphone()
    noise(card)
    assert len(list(islice(microphone.blocks(), 5))) == 5
    assert card.scans == 0


def test_after_a_loss_both_come_back_and_every_device_is_looked_for_anew() -> None:
    card = FakeSoundCard()
    owner = owner_of(card)
    owner.volume = 0.5
    microphone = owner.open_microphone()
    noise(card)
    card.unplug()
    with pytest.raises(SoundError):
        list(microphone.blocks())
    microphone.close()
    microphone = owner.open_microphone()
    noise(card)
    assert len(list(islice(microphone.blocks(), 5))) == 5
    assert card.scans == 1
    owner.play(hum(0.1, 48_000))
    assert owner.busy
    card.run(0.1)
    assert np.abs(card.streams[2].heard).max() == pytest.approx(np.abs(hum(0.1).pcm).max() / 2, abs=1), (
        "its volume"
    )


def test_a_microphone_that_is_still_missing_is_looked_for_each_time() -> None:
    card = FakeSoundCard()
    owner = owner_of(card)
    owner.open_microphone().close()
    card.refuses = "Device unavailable"
    for _ in range(2):
        with pytest.raises(SoundError):
            owner.open_microphone()
    assert card.scans == 2
    assert not owner.busy
    card.refuses = ""
    owner.open_microphone()
    owner.play(hum(0.1))
    assert owner.busy


def test_what_is_being_said_is_said_to_its_end_before_the_search() -> None:
    card = FakeSoundCard()
    owner = owner_of(card)
    owner.open_microphone().close()
    owner.play(hum(0.5, 48_000))
    opened = threading.Event()

    def reopen() -> None:
        owner.open_microphone()
        opened.set()

    thread = threading.Thread(target=reopen)
    thread.start()
    assert card.scans == 0
    assert not opened.is_set()
    card.run(1)
    assert opened.wait(5)
    thread.join()
    assert (card.streams[0].heard[:24_000, 0] == hum(0.5, 48_000).pcm).all()
    assert card.scans == 1


def test_a_lost_speaker_sends_the_ears_back_for_a_fresh_microphone_now_and_then() -> None:
    """At the first, second, fourth, eighth sound that is refused: each time costs a moment of hearing."""
    card = FakeSoundCard()
    owner = owner_of(card)
    microphone = owner.open_microphone()
    card.refuses = "Device unavailable"
    card.streams[0].end()
    searched = []
    for number in range(1, 10):
        with pytest.raises(SoundError):
            owner.play(hum(0.1))
        if next(microphone.blocks(), None) is None and card.streams[-1].closed:
            searched.append(number)
            microphone.close()
            card.refuses = ""
            opened = owner.open_microphone  # the microphone is there, the speaker isn't
            owner._open_speaker = refuse
            microphone = opened()
            noise(card, 0.2)
    assert searched == [1, 2, 4, 8]


def refuse() -> SoundSpeaker:
    raise SoundError("there is no speaker on this machine; plug one in, or go on without sound")


def test_no_speaker_is_one_line() -> None:
    card = FakeSoundCard()
    owner = owner_of(card)
    owner.open_microphone().close()
    owner._open_speaker = refuse
    owner.open_microphone()
    with pytest.raises(SoundError) as refusal:
        owner.play(hum(0.1))
    assert str(refusal.value) == "there is no speaker; plug it in again, the timers go on"
    assert not owner.busy
    owner.stop()


def test_closing_stops_what_is_being_said_and_nothing_is_opened_after() -> None:
    card = FakeSoundCard()
    owner = owner_of(card)
    owner.open_microphone().close()
    owner.play(hum(30))
    owner.close()
    owner.open_microphone()
    assert [stream.closed for stream in card.streams] == [True, True, False]

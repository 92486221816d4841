"""The clips of the benchmark, with made voices: all sentences by all engines, and the same ones each time."""

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from assistant.ports import Pcm
from tests.bench.hearing.voices import Speaker
from tests.bench.phrasings import clips as made
from tests.phrasings.sentences import Phrasing, phrasings

TWO = [Speaker("one", "a"), Speaker("one", "b"), Speaker("other", "c")]


def _speak(voice: Speaker, texts: list[str]) -> list[Pcm]:
    assert texts, "some programs fail when they are to say nothing"
    luck = np.random.default_rng(len(voice.voice + texts[0]))
    return [luck.integers(-9000, 9000, 3200).astype(np.int16) for _ in texts]


@pytest.fixture(autouse=True)
def voices(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(made, "available", lambda _part: TWO)
    monkeypatch.setattr(made, "speak", _speak)


@pytest.fixture
def three() -> list[Phrasing]:
    return phrasings("tuning")[:3]


def test_each_engine_says_each_sentence_at_each_ratio(three: list[Phrasing]) -> None:
    found = list(made.clips(three, None, 1))
    assert Counter((one.phrasing.text, one.engine, one.snr) for one in found) == Counter(
        (one.text, engine, snr) for one in three for engine in ("one", "other") for snr in ("quiet", "10 dB")
    )
    assert {one.voice for one in found} == {"one a", "one b", "other c"}


def test_kept_sounds_are_those_that_were_spoken(
    three: list[Phrasing], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fresh = [clip.pcm for clip in made.clips(three, None, 1, tmp_path)]
    monkeypatch.setattr(made, "speak", lambda *_: pytest.fail("spoken again"))
    kept = [clip.pcm for clip in made.clips(three, None, 1, tmp_path)]
    assert len(fresh) == len(kept)
    assert all(np.array_equal(one, other) for one, other in zip(fresh, kept, strict=True))


def test_one_sentence_alone_can_be_said(three: list[Phrasing]) -> None:
    assert len(list(made.clips(three[:1], None, 1))) == 4


def test_a_sample_is_the_same_each_time_and_in_order() -> None:
    everything = phrasings("tuning")
    some = made.sampled(everything, 20, 1)
    assert some == made.sampled(everything, 20, 1)
    assert some == [one for one in everything if one in some]
    assert made.sampled(everything, 20, 2) != some
    assert made.sampled(everything, None, 1) == everything


def test_engines_that_this_machine_lacks_are_named() -> None:
    assert made.missing() == ["espeak-ng", "festival", "flite", "joe", "kokoro"]

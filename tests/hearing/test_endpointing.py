"""Where somebody speaks: the rule on a scripted detector, then the real detector on synthetic voices."""

import itertools
import os
import sys
import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.hearing.endpointing import CHUNK, Endpointing, SpeechEndpointer
from assistant.ports import SPEECH_RATE, Pcm, Utterance
from tests.asr.speech import espeak, white_noise

CHUNK_S = CHUNK / SPEECH_RATE
LAW = Endpointing(
    pre_roll_s=2 * CHUNK_S, end_silence_s=4 * CHUNK_S, min_speech_s=2 * CHUNK_S, max_utterance_s=20 * CHUNK_S
)


def scripted(endpointing: Endpointing = LAW) -> SpeechEndpointer:
    """Speech is where the samples are not 0; a sample of 1 is half sure (between release and threshold)."""

    def probability(chunk: Pcm) -> float:
        return {0: 0.0, 1: 0.4}.get(int(chunk[0]), 0.9)

    return SpeechEndpointer(endpointing, probability)


def sound(pattern: str) -> Pcm:
    """One chunk a sign: `.` quiet, `s` speech, `h` half sure."""
    levels = {".": 0, "s": 100, "h": 1}
    pcm: Pcm = np.repeat(np.array([levels[sign] for sign in pattern], dtype=np.int16), CHUNK)
    return pcm


def pattern_of(utterance: Utterance) -> str:
    signs = {0: ".", 100: "s", 1: "h"}
    return "".join(signs[int(level)] for level in utterance.sound.pcm[::CHUNK])


@pytest.mark.parametrize(
    ("heard", "utterances"),
    [
        ("......", []),
        (".....sssss....", ["..sssss...."]),
        ("sssss......", ["..sssss...."]),
        (".....s....s....", []),
        ("...ss...ss.......", ["..ss...ss...."]),
        ("...ss....ss.......", ["..ss....", "..ss...."]),
        ("...ss........ss.......", ["..ss....", "..ss...."]),
        ("...hhhhh....", []),
        ("...sshhhh.......", ["..sshhhh...."]),
        ("..." + "s" * 30 + "....", [".." + "s" * 18, ".." + "s" * 12 + "...."]),
    ],
    ids=[
        "quiet",
        "one",
        "at the start",
        "clicks",
        "short pause",
        "long pause",
        "two",
        "unsure",
        "fading",
        "too long",
    ],
)
def test_law(heard: str, utterances: list[str]) -> None:
    assert [pattern_of(utterance) for utterance in scripted().feed(sound(heard))] == utterances


def test_start_and_end_are_those_of_the_speech_in_the_stream() -> None:
    (utterance,) = scripted().feed(sound(".....sssss...."))

    assert (utterance.start, utterance.end) == pytest.approx((5 * CHUNK_S, 10 * CHUNK_S))


def test_flush_gives_what_was_still_going_on() -> None:
    endpointer = scripted()
    assert endpointer.feed(sound("....sss.")) == []
    assert endpointer.pending(0.0) is not None

    (utterance,) = endpointer.flush()

    assert pattern_of(utterance) == "..sss....", "quiet stands in for what did not come any more"
    assert endpointer.pending(0.0) is None
    assert endpointer.flush() == []


def test_the_last_samples_count_even_where_they_fill_no_chunk() -> None:
    endpointer = scripted()
    endpointer.feed(sound("...sss")[:-200])

    (utterance,) = endpointer.flush()

    assert pattern_of(utterance) == "..sss...."
    assert not utterance.sound.pcm[-4 * CHUNK - 200 :].any()


def test_time_counts_what_fills_no_chunk() -> None:
    endpointer = scripted()

    endpointer.feed(np.zeros(100, dtype=np.int16))
    endpointer.feed(np.zeros(CHUNK, dtype=np.int16))

    assert endpointer.heard_s == (100 + CHUNK) / SPEECH_RATE


def test_an_open_utterance_can_be_worked_on_in_a_pause() -> None:
    endpointer = scripted()
    endpointer.feed(sound("...sss."))
    assert endpointer.pending(2 * CHUNK_S) is None

    endpointer.feed(sound("."))
    early = endpointer.pending(2 * CHUNK_S)
    (whole,) = endpointer.feed(sound(".."))

    assert early is not None
    assert (early.start, early.end) == (whole.start, whole.end)
    assert np.array_equal(early.sound.pcm, whole.sound.pcm[: len(early.sound.pcm)])
    assert endpointer.pending(0.0) is None


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.text("..ssh", max_size=60),
    st.lists(st.integers(0, 3 * CHUNK), max_size=40),
)
def test_blocks_do_not_matter_and_no_speech_is_lost(pattern: str, cuts: list[int]) -> None:
    whole, pieces = scripted(), scripted()
    pcm = sound(pattern)
    places = [0, *np.minimum(np.cumsum(cuts), len(pcm)).tolist(), len(pcm)]

    at_once = whole.feed(pcm) + whole.flush()
    in_pieces = [u for a, b in itertools.pairwise(places) for u in pieces.feed(pcm[a:b])] + pieces.flush()

    assert [pattern_of(u) for u in at_once] == [pattern_of(u) for u in in_pieces]
    assert [(u.start, u.end) for u in at_once] == [(u.start, u.end) for u in in_pieces]
    assert whole.heard_s == pieces.heard_s == len(pcm) / SPEECH_RATE
    for before, after in itertools.pairwise(at_once):
        assert before.end <= after.start
    for number, chunk in enumerate(pattern):
        inside = any(u.start / CHUNK_S - 0.5 < number < u.end / CHUNK_S - 0.5 for u in at_once)
        if pattern[number : number + 2] == "ss" and chunk == "s":
            assert inside, "two chunks of speech in a row belong to an utterance"


def test_the_real_detector_finds_three_commands_and_their_ends() -> None:
    spoken = [espeak(text) for text in ("water one fifty", "crumb ready", "stop timer")]
    gap: Pcm = np.zeros(SPEECH_RATE, dtype=np.int16)
    stream = np.concatenate([np.concatenate([gap, one.pcm]) for one in spoken] + [gap])
    stream = stream + white_noise(len(stream) / SPEECH_RATE, -60)

    found = SpeechEndpointer().feed(stream)

    assert len(found) == 3
    begin = 0
    for one, utterance in zip(spoken, found, strict=True):
        begin += len(gap)
        loud = np.flatnonzero(np.abs(one.pcm) > 0.02 * np.abs(one.pcm).max())
        assert utterance.start == pytest.approx((begin + loud[0]) / SPEECH_RATE, abs=0.15)
        assert utterance.end == pytest.approx((begin + loud[-1]) / SPEECH_RATE, abs=0.15)
        begin += len(one.pcm)


@pytest.mark.parametrize("level", [-60, -40, -20])
def test_noise_alone_is_no_speech(level: float) -> None:
    endpointer = SpeechEndpointer()

    assert endpointer.feed(white_noise(5, level)) + endpointer.flush() == []


def test_the_real_detector_gives_the_same_twice() -> None:
    def heard() -> list[tuple[float, float]]:
        return [(u.start, u.end) for u in SpeechEndpointer().feed(espeak("mix eight minutes").pcm)]

    assert heard() == heard()


@pytest.mark.skipif(sys.platform != "linux", reason="counts the threads that Linux lists")
def test_the_real_detector_works_in_the_thread_that_asks_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("OMP_THREAD_LIMIT", raising=False)
    endpointer, noise = SpeechEndpointer(), white_noise(1, -40)
    counts: list[int] = []

    def work() -> None:  # OpenMP keeps helpers for each thread that asks: a new one has none yet
        for block in (noise[:0], noise):
            endpointer.feed(block)
            counts.append(len(list(Path("/proc/self/task").iterdir())))

    asking = threading.Thread(target=work)
    asking.start()
    asking.join()
    assert counts[0] == counts[1]
    assert "OMP_THREAD_LIMIT" not in os.environ


def test_a_detector_of_ones_own_can_be_given() -> None:
    assert SpeechEndpointer(speech_probability=lambda _chunk: 0.0).feed(espeak("mix eight minutes").pcm) == []

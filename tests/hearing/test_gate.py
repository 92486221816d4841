"""The gate between speaker and microphone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.hearing.gate import EDGE_S, TAIL_S, Gate

BLOCK = np.full(1_600, 7, np.int16)  # 0.1 s


def heard(gate: Gate, *busy: bool) -> list[bool]:
    """Feed 0.1 s blocks that come 0.1 s apart; which of them got through."""
    return [bool(gate.hear(BLOCK, 100 + 0.1 * number, state).any()) for number, state in enumerate(busy)]


def test_what_is_heard_while_we_speak_and_right_after_is_silence() -> None:
    assert heard(Gate(tail_s=0.2), False, True, True, False, False, False) == [
        True,
        False,
        False,
        False,
        True,
        True,
    ]


def test_the_tail_covers_the_120_ms_that_the_microphone_was_measured_to_hear_us_after_the_end() -> None:
    gate = Gate()
    gate.hear(BLOCK, 10.0, True)
    assert not gate.hear(BLOCK, 10.12, False).any()
    assert gate.hear(BLOCK, 10.0 + TAIL_S, False).any()
    assert 0.15 <= TAIL_S <= 0.25


def test_silence_has_the_length_of_the_block_so_that_the_endpointers_clock_goes_on() -> None:
    silence = Gate().hear(BLOCK, 0.0, True)
    assert len(silence) == len(BLOCK)
    assert silence.dtype == np.int16


def test_the_block_itself_is_left_alone() -> None:
    block = BLOCK.copy()
    Gate().hear(block, 0.0, True)
    assert (block == BLOCK).all()


def test_a_headset_hears_while_we_speak() -> None:
    gate = Gate(headset=True)
    assert heard(gate, True, True, False) == [True, True, True]
    assert not gate.clipped(0.0, 0.3)


@pytest.mark.parametrize(
    ("start", "end", "clipped"),
    [
        (0.0, 0.15, False),  # ended well before we spoke
        (0.0, 0.35, True),  # we cut in
        (0.0, 0.25, True),  # ended where we began: the rest of it may be gone
        (0.5, 0.9, True),  # began where we ended
        (0.75, 0.9, False),
        (0.1, 0.9, True),  # around all of it
    ],
)
def test_a_sentence_is_clipped_when_our_voice_touches_it(start: float, end: float, clipped: bool) -> None:
    gate = Gate(tail_s=0.0)
    heard(gate, False, False, False, True, True, True, False, False, False)  # shut from 0.3 to 0.6 s
    assert gate.clipped(start, end) is clipped


def test_blocks_of_one_closed_stretch_are_remembered_as_one() -> None:
    gate = Gate(tail_s=0.0)
    heard(gate, True, False, *[True] * 1_000)
    assert gate.clipped(0.0, 0.05), "the first stretch is forgotten"


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(1, 4_000), st.booleans()), max_size=40), st.sampled_from([0.15, 0.2, 0.25])
)
def test_nothing_of_us_gets_through_and_nothing_else_is_lost(
    blocks: list[tuple[int, bool]], tail_s: float
) -> None:
    gate = Gate(tail_s=tail_s)
    now = stream = 0.0
    last_busy = -1.0
    for length, busy in blocks:
        now += length / 16_000
        last_busy = now if busy else last_busy
        block = np.full(length, 5, np.int16)
        out = gate.hear(block, now, busy)
        assert len(out) == length
        shut = busy or now < last_busy + tail_s
        assert out.any() != shut
        middle = stream + length / 32_000
        assert not shut or gate.clipped(middle, middle)
        stream += length / 16_000
    assert not gate.clipped(stream + EDGE_S + 0.01, stream + 1)

"""The estimate for a Pi, from the parts of an answer."""

import math
from dataclasses import replace

import numpy as np
import pytest

from assistant.app.budgets import QUIET_BEFORE_S, acoustic_end
from assistant.app.pi_model import (
    ARITHMETIC_INSTRUCTIONS,
    BOARDS,
    INTERPRETING_INSTRUCTIONS,
    Answer,
    Board,
    slower,
)
from assistant.ports import Sound

ANSWER = Answer(
    waited=0.224,
    looked=0.2,
    recognised=0.05,
    after=0.01,
    network=0.03,
    search=0.02,
    deciding=0.005,
    trailing=0.1,
)


def test_recognising_runs_while_the_listener_waits() -> None:
    assert ANSWER.seconds == pytest.approx(0.26)
    assert replace(ANSWER, recognised=0.02).seconds == pytest.approx(0.234)


def test_each_kind_of_work_is_stretched_by_its_own_factor() -> None:
    assert ANSWER.seconds_where(1, 1) == pytest.approx(0.255)
    assert ANSWER.seconds_where(2, 10) == pytest.approx(0.2 + 0.06 + 0.2 + 0.05)
    assert ANSWER.seconds_where(0.1, 0.1) == pytest.approx(0.2245)  # no board is quicker than the wait


@pytest.mark.parametrize("board", BOARDS, ids=[board.name for board in BOARDS])
def test_a_machine_that_does_a_boards_instructions_a_second_is_that_board(board: Board) -> None:
    arithmetic_s = ARITHMETIC_INSTRUCTIONS / (board.hertz * board.arithmetic_ipc)
    interpreting_s = INTERPRETING_INSTRUCTIONS / (board.hertz * board.interpreting_ipc)
    assert slower(board, arithmetic_s, interpreting_s) == pytest.approx((1, 1))
    assert slower(board, arithmetic_s / 2, interpreting_s / 3) == pytest.approx((2, 3))


def test_the_acoustic_end_is_where_the_voice_is_over_not_the_sound() -> None:
    tone = (8000 * np.sin(2 * math.pi * 250 * np.arange(16_000) / 16_000 + 0.1)).astype(np.int16)
    hiss = np.full(8000, 20, np.int16)  # more than 40 dB below the tone
    assert acoustic_end(Sound(np.concatenate([tone, hiss]), 16_000)) == pytest.approx(
        QUIET_BEFORE_S + 1, abs=0.002
    )

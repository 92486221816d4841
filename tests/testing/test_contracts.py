"""The contract check of `ports.Endpointer`: the real one and the tests' own pass, broken ones are found.

The checks of the other ports run with their adapters: asr, audio, tts, devices/scale, journal, test_clock.py.
"""

from collections.abc import Callable

import numpy as np
import pytest

from assistant.hearing.endpointing import CHUNK, Endpointing, SpeechEndpointer
from assistant.ports import Endpointer, Pcm, Utterance
from assistant.testing.endpointing import check_endpointer
from tests.station.test_live_hearing import LevelEndpointer

SPEECH: Pcm = np.full(20 * CHUNK, 8000, np.int16)
QUIET: Pcm = np.zeros(40 * CHUNK, np.int16)


def detecting() -> SpeechEndpointer:
    """The real endpointer on a detector that takes everything but zeros for speech."""
    return SpeechEndpointer(Endpointing(), lambda chunk: float(chunk.any()))


@pytest.mark.parametrize("make", [detecting, LevelEndpointer])
def test_an_endpointer_keeps_the_contract(make: Callable[[], Endpointer]) -> None:
    check_endpointer(make(), SPEECH, QUIET)


class _Late(LevelEndpointer):
    """Places speech a second too late."""

    def feed(self, block: Pcm) -> list[Utterance]:
        found = super().feed(block)
        return [Utterance(one.start + 1, one.end + 1, one.sound) for one in found]


class _Forgetful(LevelEndpointer):
    """Loses what is open when the stream ends."""

    def flush(self) -> list[Utterance]:
        return super().flush() if self.quiet_s else []


class _Uncut(LevelEndpointer):
    """Goes on with what was cut."""

    def cut(self) -> None:
        pass


class _Deaf(LevelEndpointer):
    """Does not count what it is fed."""

    @property
    def heard_s(self) -> float:
        return 1.0


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (_Late, "was found at"),
        (_Forgetful, r"flush\(\) lost the open utterance"),
        (_Uncut, "came again"),
        (_Deaf, "heard_s does not follow"),
    ],
)
def test_a_broken_endpointer_is_found(broken: type[LevelEndpointer], says: str) -> None:
    with pytest.raises(AssertionError, match=says):
        check_endpointer(broken(), SPEECH, QUIET)

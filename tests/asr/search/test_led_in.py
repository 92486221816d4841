"""A sentence behind words that nobody foresaw is asked about; one that was weighed as a whole is not."""

import numpy as np
import pytest

from assistant.app.application import open_application
from assistant.asr.confidence import UNCONFIRMED
from assistant.asr.search.led_in import (
    BEGUN_LATER,
    LEAST_FRAMES,
    LEAST_LEAD,
    LEAST_PHONES,
    MOST_COST,
    begins,
    worth_asking,
)
from assistant.asr.search.trellis import NEVER
from assistant.batch.record.commands import AddWater, Command
from assistant.config.home import Home
from assistant.dough.amounts import Amount
from assistant.ports import Asking, Evidence, Hypothesis, Recogniser, Recognition
from tests.asr.speech import espeak

WATER = AddWater(Amount(50))
BOUNDARY = 2


def found(
    text: str = "water fifty", *, cost: float = 0.3, lead: float = 9.0, phones: int = 11, means: bool = True
) -> Recognition[Command]:
    """A recognition with this evidence."""
    return Recognition(
        Hypothesis(text, WATER if means else None, cost),
        accepted=True,
        margin=lead,
        sure=0.97,
        evidence=Evidence(costs=(cost,), leads=(lead,), phones=phones),
    )


def test_a_sentence_begins_first_or_at_a_boundary_behind_a_clause() -> None:
    log_probs = np.full((30, 4), -5.0, dtype=np.float32)
    log_probs[:, 1] = -0.1
    for early, boundary in ((True, LEAST_FRAMES - 4), (False, 20)):
        log_probs[boundary] = -5.0
        log_probs[boundary, BOUNDARY] = -0.1
        assert early is (boundary < LEAST_FRAMES)

    at = begins(log_probs, BOUNDARY)

    assert at[0] == 0
    assert np.flatnonzero(at > NEVER / 2).tolist() == [0, 20, 21]
    assert at[20] == pytest.approx(20 * -0.1 - BEGUN_LATER, abs=1e-4)


def test_no_frames_have_no_beginning() -> None:
    assert begins(np.zeros((0, 4), dtype=np.float32), BOUNDARY).shape == (0,)


def test_what_is_found_is_near_and_never_surer_than_unconfirmed() -> None:
    asked = worth_asking(found(), found("crumb is dry", cost=3.0))

    assert asked is not None
    assert (asked.near, asked.accepted, asked.sure) == (True, False, UNCONFIRMED)


@pytest.mark.parametrize(
    "one",
    [
        found(cost=MOST_COST + 0.01),
        found(lead=LEAST_LEAD - 0.01),
        found(phones=LEAST_PHONES - 1),
        found(means=False),
    ],
    ids=["fits badly", "another is near", "short", "means nothing"],
)
def test_too_little_is_left_alone(one: Recognition[Command]) -> None:
    assert worth_asking(one, found("crumb is dry", cost=3.0)) is None


def test_the_same_sentence_weighed_before_is_not_asked_about() -> None:
    assert worth_asking(found(), found()) is None
    assert worth_asking(found(), found(cost=0.9)) is not None


@pytest.fixture(scope="module")
def recogniser(tmp_path_factory: pytest.TempPathFactory) -> Recogniser[Command]:
    return open_application(Home.find(tmp_path_factory.mktemp("home"))).recogniser()


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        ("the window over there is broken, set a timer for twenty minutes", "timer for twenty minutes"),
        ("this noodle looks splendid to everybody, the crumb is ready", "crumb is ready"),
    ],
)
def test_a_command_behind_other_words_is_near(said: str, heard: str, recogniser: Recogniser[Command]) -> None:
    one = recogniser.recognise(espeak(said), asking=Asking.NOTHING)

    assert one.text.endswith(heard)
    assert one.near
    assert not one.accepted


@pytest.mark.parametrize("said", ["she dropped two crates of lemons", "who took that table to the garden"])
def test_talk_stays_talk(said: str, recogniser: Recogniser[Command]) -> None:
    one = recogniser.recognise(espeak(said), asking=Asking.NOTHING)

    assert not one.near
    assert not one.accepted

"""The rows of the kinds of timers, and what stands between the marks."""

from typing import get_args

import pytest

from assistant.batch.record.announcements import SAYABLE
from assistant.batch.record.batch import Standing
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.timer_kinds import INTERVALS, TIMER_KINDS, TimerKind, tray_name, tray_of
from tests.batch.kitchen import mixing

VALUES = {
    "mix": {"timer", "die", "seconds"},
    "rest": {"timer", "die", "seconds"},
    "named": {"timer", "die", "seconds"},
    "cook": {"timer", "die", "seconds"},
    "prep": {"timer", "die", "seconds"},
    "tray": {"timer", "die", "seconds", "batch", "tray", "celsius", "limit"},
}


@pytest.mark.parametrize("kind", get_args(TimerKind))
def test_what_is_said_of_a_kind_has_words_and_values(kind: TimerKind) -> None:
    traits = TIMER_KINDS[kind]
    keys = [traits.warns, traits.warns_early, traits.rings, *traits.left, traits.next_step]
    if traits.interval is not None:
        keys += [traits.interval.waits, traits.interval.rings]
    for key in keys:
        assert key is None or SAYABLE[key] <= VALUES[kind]


def test_what_is_up_at_once_has_one_order() -> None:
    # Pasta in the water is lost first, then a dough that is mixed too long (common practice, no source).
    by_urgency = sorted(TIMER_KINDS, key=lambda kind: TIMER_KINDS[kind].urgency)
    assert by_urgency == ["cook", "mix", "rest", "named", "prep", "tray"]
    assert len({traits.urgency for traits in TIMER_KINDS.values()}) == len(TIMER_KINDS)


def test_the_batchs_own_timers_measure_a_phase_each() -> None:
    assert INTERVALS == ("mix", "rest")
    phases = [TIMER_KINDS["mix"].interval, TIMER_KINDS["rest"].interval]
    assert [one.phase for one in phases if one] == [Phase.MIXING, Phase.RESTING]


def test_leads() -> None:
    rules = BatchRules(warn_s=25, tray_warn_s=900)
    leads = {kind: traits.lead_s(rules) for kind, traits in TIMER_KINDS.items()}
    assert leads == {"mix": 25, "rest": 60, "named": 25, "cook": 60, "tray": 900, "prep": 25}


def test_the_name_of_a_trays_clock_is_read_back() -> None:
    assert tray_of(tray_name(12, 3)) == (12, 3)


@pytest.mark.parametrize(
    ("poured", "standing"),
    [
        (464.4, Standing.SHORT),
        (464.6, Standing.ON_TARGET),
        (465.4, Standing.ON_TARGET),
        (465.6, Standing.PAST_TARGET),
        (494.4, Standing.PAST_TARGET),
        (494.6, Standing.AT_HIGH),
        (495.4, Standing.AT_HIGH),
    ],
)
def test_standing_is_told_to_half_a_gram(poured: float, standing: Standing) -> None:
    # 1500 g of flour: 465 g of water at 31 %, 495 g at 33 %.
    assert mixing(1500, poured).batch.standing is standing

"""Cooks who never read the phrase table are understood, and nothing meant otherwise is acted on.

Failures of the held-back half print counts, not sentences; CRUMBCALL_SHOW_HELD_BACK=1 prints them too.
"""

import pytest

from assistant.batch.record.events import Source
from tests.phrasings.run import (
    SOURCES,
    count,
    faults,
    may_show,
    outcomes,
    report,
    talk_outcomes,
)
from tests.phrasings.sentences import HALVES, Half

UNDERSTOOD = 0.9
"""Share of the held-back half that has to be understood at once or after one question."""

widening = pytest.mark.xfail(strict=False, reason="the grammar does not know these phrasings yet")


@widening
@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("half", HALVES)
def test_cooks_are_understood(half: Half, source: Source) -> None:
    results = outcomes(half, source)
    print(report(half, source))
    share = count(results, "understood", "asked") / len(results)
    missed = faults(results, "understood", "asked") if may_show(half) else []
    assert share >= UNDERSTOOD, "\n".join([f"{half}, {source}: {share:.1%} of {len(results)}", *missed])


@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("half", HALVES)
def test_nothing_else_is_done(half: Half, source: Source) -> None:
    results = outcomes(half, source)
    wrong = faults(results, "understood", "asked", "caught", "silent")
    shown = wrong if may_show(half) else []
    assert not wrong, "\n".join([f"{half}, {source}: {len(wrong)} of {len(results)}", *shown])


@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("half", HALVES)
def test_talk_is_left_alone(half: Half, source: Source) -> None:
    """At a keyboard not even a question is asked; heard by voice, a question is the lesser evil."""
    results = talk_outcomes(half, source)
    fine = ("left",) if source == "keyboard" else ("left", "asked")
    taken = faults(results, *fine)
    shown = taken if may_show(half) else []
    assert not taken, "\n".join([f"{half}, {source}: {len(taken)} of {len(results)}", *shown])

"""Cooks who never read the phrase table are understood, and nothing meant otherwise is acted on.

Failures of the held-back half print counts, not sentences; CRUMBCALL_SHOW_HELD_BACK=1 prints them too.
"""

from collections.abc import Sequence

import pytest

from assistant.batch.record.events import Source
from tests.phrasings.run import SOURCES, Result, count, faults, may_show, outcomes, report, talk_outcomes
from tests.phrasings.sentences import HALVES, Half

UNDERSTOOD: dict[Source, float] = {"keyboard": 0.94, "voice": 0.75}
"""Least share of a half that is understood at once or after one question.

By voice, here without a sound, a sentence is one of the grammar's or nothing: only typed lines are mended.
"""
ASKED = 0.2
"""Greatest share of typed talk that is asked about; none of it may be acted on.

Who types means the station: of what is near a command rather too much is asked about than too little.
"""

each_half = pytest.mark.parametrize("half", HALVES)
each_source = pytest.mark.parametrize("source", SOURCES)


@each_source
@each_half
def test_cooks_are_understood(half: Half, source: Source) -> None:
    results = outcomes(half, source)
    print(report(half, source))
    if count(results, "understood", "asked") < UNDERSTOOD[source] * len(results):
        _fail(results, half, "understood", "asked")


@each_source
@each_half
def test_nothing_else_is_done(half: Half, source: Source) -> None:
    results = outcomes(half, source)
    if count(results, "otherwise"):
        _fail(results, half, "understood", "asked", "caught", "silent")


@each_source
@each_half
def test_talk_is_never_acted_on(half: Half, source: Source) -> None:
    """Nor is it answered; heard by voice, a question is the lesser evil."""
    results = talk_outcomes(half, source)
    if count(results, "told", "acted"):
        _fail(results, half, "left", "asked")


@each_half
def test_talk_that_is_typed_is_seldom_asked_about(half: Half) -> None:
    results = talk_outcomes(half, "keyboard")
    if count(results, "asked") > ASKED * len(results):
        _fail(results, half, "left")


def _fail(results: Sequence[Result], half: Half, *fine: str) -> None:
    """Without pytest's own account of the values: it would print the sentences."""
    lines = faults(results, *fine)
    text = f"{half}: {len(lines)} of {len(results)} came out otherwise than {' or '.join(fine)}"
    pytest.fail("\n".join([text, *(lines if may_show(half) else [])]), pytrace=False)


def test_a_failure_of_the_held_back_half_shows_no_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CRUMBCALL_SHOW_HELD_BACK", raising=False)
    for half in HALVES:
        results = talk_outcomes(half, "voice")
        with pytest.raises(pytest.fail.Exception) as failed:
            _fail(results, half, "acted")
        text = str(failed.value)
        assert f"{len(results)} of {len(results)}" in text
        assert (results[0].phrasing.text in text) is (half == "tuning")

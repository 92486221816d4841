"""Whether a sentence could go on depends on what is asked."""

import pytest

from assistant.hearing.early_decision import SentenceEnds
from assistant.ports import Asking
from tests.station.stand import grammar

ENDS = SentenceEnds(grammar().continuations, grammar().parse)


@pytest.mark.parametrize(
    ("text", "asking", "goes_on"),
    [
        ("water one fifty grams", Asking.NOTHING, False),
        ("water one", Asking.NOTHING, True),
        ("yes please", Asking.ANSWER, False),
        ("no", Asking.ANSWER, True),  # "no it's dry", a report
        ("no", Asking.AMOUNT, True),  # "no one thirty"
        ("one thirty grams", Asking.AMOUNT, True),  # "one thirty grams scrap"
        ("one thirty grams please", Asking.AMOUNT, False),
        ("one", Asking.AMOUNT, True),
        ("egg", Asking.RECIPE, True),  # "egg batch", a command,
        ("sauce", Asking.TIMER, True),  # "sauce two minutes"
        ("the sauce timer", Asking.TIMER, False),
        ("rest", Asking.TIMER, True),  # "rest ten minutes", a command
        ("one kilo", Asking.ANSWER, None),
        ("no", Asking.NOTHING, None),
        ("water", Asking.RECIPE, True),
        ("basil", Asking.AMOUNT, None),
    ],
)
def test_whether_more_could_be_meant(text: str, asking: Asking, goes_on: bool | None) -> None:
    meant = grammar().parse(text, asking=asking)
    if goes_on is None:
        meant = grammar().parse("undo")
    assert meant is not None
    assert ENDS.can_go_on(text, meant, asking) is goes_on


def test_a_second_command_in_the_same_breath_is_not_waited_for() -> None:
    meant = grammar().parse("crumb ready")
    assert meant is not None
    assert grammar().parse("crumb ready and rest") not in (None, meant)
    assert ENDS.can_go_on("crumb ready", meant, Asking.NOTHING) is False

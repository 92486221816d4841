"""Before every hand that goes in after a run it is said to unplug, whichever way the run ends.

29 CFR 1910.147: the plug is out and in the control of the person who reaches in, each time. That the lid is
opened for the first squeeze of a batch and after every mix is common practice, no source.
"""

import pytest

from assistant.batch.record import commands as cmd
from assistant.config.resources import grammar_folder
from tests.batch.kitchen import Kitchen, typed
from tests.nlg.brief_turns import check_brief
from tests.nlg.off_first import text_of

UNPLUGGED = {"en": "unplugged", "it": "spina staccata"}
Step = cmd.Command | float
"""What the cook says, or how long nobody speaks (s)."""

TO_THE_SQUEEZE: dict[str, list[Step]] = {
    "the mix rings": [cmd.Mix(), 120.0, cmd.GotIt()],
    "the ring is left alone": [cmd.Mix(), 200.0],
    "it is switched off before the ring": [cmd.Mix(), 30.0, cmd.Mixer(on=False)],
    "it is switched off at the ring": [cmd.Mixer(on=True), 120.0, cmd.Mixer(on=False)],
    "a rest behind the mix": [cmd.Mix(), 60.0, cmd.Rest(), 90.0],
    "the timer is stopped, and it is asked": [cmd.Mix(), 20.0, cmd.StopTimer("mix"), cmd.Ask("next")],
}


@pytest.mark.parametrize("steps", TO_THE_SQUEEZE.values(), ids=TO_THE_SQUEEZE)
def test_each_squeeze_of_a_batch_is_led_by_off_and_unplugged(steps: list[Step]) -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.say(cmd.AddWater(typed(330)))
    for verdict, pour in (("dry", 135), ("dry", 15), ("ready", None)):
        before = len(kitchen.heard)
        for step in steps:
            if isinstance(step, float):
                kitchen.wait(step)
            else:
                kitchen.say(step)
        for language, words in UNPLUGGED.items():
            said = [text_of(one, language) for one in kitchen.heard[before:]]
            assert any(words in text for text in said), said
        kitchen.say(cmd.JudgeCrumb(verdict))  # type: ignore[arg-type]
        if pour is not None:
            kitchen.say(cmd.AddWater(typed(pour)))
    kitchen.say(cmd.Extruding())
    before = len(kitchen.heard)
    kitchen.say(cmd.Mixer(on=False))
    for language, words in UNPLUGGED.items():
        assert words in text_of(kitchen.heard[before], language)
    kitchen.check()


def test_the_call_with_the_caution_is_still_a_short_turn() -> None:
    kitchen = Kitchen()
    kitchen.say(cmd.NewBatch(typed(1500)))
    kitchen.say(cmd.AddWater(typed(330)))
    kitchen.say(cmd.Mix())
    before = len(kitchen.heard)
    kitchen.wait(120)
    check_brief(kitchen.heard[-1:])
    assert [one.key for one in kitchen.heard[before:]] == ["mix_warning", "mix_rings"]


def test_no_italian_wording_says_the_plug_in_part() -> None:
    """ "Staccata" alone leaves open what is off the wall: each says the plug, the late calls too."""
    text = (grammar_folder("it") / "replies.toml").read_text(encoding="utf-8")
    said = [line for line in text.splitlines() if "staccata" in line]
    assert len(said) > 10
    assert [line for line in said if "spina staccata" not in line] == []

"""A typed line that is only like a sentence is asked about, and nothing is done before a yes."""

import pytest

from assistant.batch.record.events import QuestionAsked
from tests.phrasings.expectations import Said, changed


def typed(context: str, line: str) -> tuple[Said, list[str]]:
    said = Said(context)
    return said, [reply.text for reply in said.say(line, "keyboard").replies]


@pytest.mark.parametrize(
    ("context", "line", "asked", "answer"),
    [
        ("fresh", "register a pour of one eighty grams of water in it", "one eighty", "One eighty in."),
        ("pouring", "which amount of water remains to be poured now", "left", "One thirty-five to target"),
        (
            "pouring",
            "could you lead me through the whole clean down please",
            "clean down",
            "Machine off and unplugged",
        ),
        ("idle", "prod me with an alarm in 20 minutes", "20 minutes", "Timer one: twenty minutes."),
    ],
)
def test_it_is_done_or_answered_after_a_yes(context: str, line: str, asked: str, answer: str) -> None:
    said, question = typed(context, line)
    assert asked in question[0]
    assert not changed(said)
    assert answer in said.say("yes", "keyboard").replies[0].text


@pytest.mark.parametrize("context", ["idle", "pouring", "extruding"])
def test_after_a_no_nothing_was_done(context: str) -> None:
    said, _ = typed(context, "could you lead me through the whole clean down please")
    said.say("no", "keyboard")
    assert said.state.walk is None
    assert not changed(said)


def test_by_voice_nothing_is_guessed() -> None:
    said = Said("pouring")
    assert said.say("which amount of water remains to be poured now", "voice").replies == ()
    assert said.left_alone


def test_beside_an_open_question_nothing_is_guessed() -> None:
    said, _ = typed("fresh", "water seven hundred")
    assert isinstance(said.events[-1], QuestionAsked)
    said.say("which amount of water remains to be poured now", "keyboard")
    assert [type(event) for event in said.events] == [QuestionAsked]


def test_with_its_ears_off_it_listens_again_at_once() -> None:
    said, _ = typed("deaf", "please be so kind and listen up again")
    assert said.state.listening


def test_what_was_said_last_is_said_again_without_a_question() -> None:
    said, texts = typed("just_poured", "sorry i did not quite understand you")
    assert said.last is not None
    assert texts == [reply.text for reply in said.last.replies]


def test_who_switches_is_answered_at_once() -> None:
    _, texts = typed("extruding", "is it safe for me to reach in with my hand")
    assert texts == ["I switch nothing. You switch off."]

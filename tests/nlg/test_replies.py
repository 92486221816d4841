"""The English wording of the replies, and how a file of replies is read and checked."""

import tomllib
from pathlib import Path

import pytest

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record.announcements import Announcement, say
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.errors import GrammarError
from assistant.nlg.replies import Replies
from assistant.nlg.speech import Speech

SHIPPED = grammar_folder() / "replies.toml"


@pytest.fixture(scope="module")
def replies() -> Replies:
    return Replies.load(SHIPPED, speech=Speech())


def conversation(replies: Replies, *commands: cmd.Command) -> list[str]:
    """What is said to the last of the commands."""
    state, said = State(), tuple[Announcement, ...]()
    for at, command in enumerate(commands):
        decision = decide(state, Said(command, "voice", "so it was said"), float(at), BatchRules())
        for event in decision.events:
            state = evolve(state, event)
        said = decision.announcements
    return [replies.render(announcement) for announcement in said]


FLOUR = cmd.NewBatch(Amount(1500))


def water(grams: float) -> cmd.AddWater:
    return cmd.AddWater(Amount(grams))


def test_read_back_says_what_went_in_and_what_is_left(replies: Replies) -> None:
    # 1500 g at 31 % take 465 g (baker's percent): 465 - 150 = 315.
    assert conversation(replies, FLOUR, water(150)) == ["One fifty in.", "Three fifteen left."]


def test_a_number_with_a_twin_is_asked_by_its_digits_and_logged_by_them(replies: Replies) -> None:
    # PA-PSRS Patient Safety Advisory, June 2006: 15 and 50 are heard for one another; say the digits too.
    started = (FLOUR, water(150), water(13))
    assert conversation(replies, *started) == ["Thirteen, one three?"]
    assert conversation(replies, *started, cmd.Answer(yes=True))[0] == "Thirteen, one three, in."


def test_past_high_is_asked_with_what_yes_does(replies: Replies) -> None:
    # High is 33 % of 1500 = 495 g; 465 + 50 is 20 g past it.
    assert conversation(replies, FLOUR, water(465), water(50)) == ["Fifty is twenty over high. Log it?"]


def test_over_high_names_the_flour_that_mends_it(replies: Replies) -> None:
    # 515 g of water are 33 % of 1560.6 g of flour: 61 g more, and 1500 + 515 + 61 fit 3000 g.
    said = conversation(replies, FLOUR, water(465), water(50), cmd.Answer(yes=True))
    assert said[-1:] == ["Twenty over high: sixty-one of flour brings it to high."]


def test_a_batch_that_was_open_is_announced_with_what_is_left(replies: Replies) -> None:
    assert replies.render(say("batch_resumed", batch=4, water=430.0, left=50.0)) == (
        "Batch four: four thirty in, fifty left."
    )
    assert replies.render(say("batch_resumed", batch=4, water=480.0, left=0.0)) == (
        "Batch four: four eighty in, on target."
    )


def test_one_portion_is_not_said_in_the_plural(replies: Replies) -> None:
    assert replies.render(say("portions_counted", count=1, total=9)) == "One portion, nine in all."
    assert replies.render(say("portions_counted", count=8, total=17)) == "Eight portions, seventeen in all."


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("mix", "Two minutes left on the mix."),
        ("2", "Two minutes left on timer two."),
        ("two", "Two minutes left on timer two."),
        ("sauce", "Two minutes left on the sauce timer."),
    ],
)
def test_timers_are_called_by_what_they_are(replies: Replies, name: str, expected: str) -> None:
    assert replies.render(say("time_left", timer=name, seconds=120.0)) == expected


def test_a_lot_is_spelled(replies: Replies) -> None:
    assert replies.render(say("lot_named", lot="4471a")) == "Lot four four seven one, A."
    assert replies.render(say("lot_named", lot="B12")) == "Lot B, one two."


@pytest.mark.parametrize(
    "command", ["new_batch", "water", "scrap", "timer", "new_die", "portions", "make_that"]
)
def test_a_missing_number_is_asked_for(replies: Replies, command: str) -> None:
    assert command in cmd.COMMANDS
    assert replies.render(say("number_missing", command=command)).endswith("?")


def test_misses_are_worded_for_commands_that_there_are() -> None:
    table = tomllib.loads(SHIPPED.read_text())
    for key in ("number_missing", "unit_unfit"):
        assert set(table[key]) - {"by", "other"} <= set(cmd.COMMANDS)


def test_fixed_sentences_are_those_without_a_value(replies: Replies) -> None:
    fixed = replies.fixed()
    assert "Mix, then off, unplugged, squeeze." in fixed
    assert "How much water?" in fixed
    assert not [text for text in fixed if "{" in text]
    assert len(fixed) == len(set(fixed))


def test_a_kitchen_changes_single_replies(tmp_path: Path) -> None:
    own = tmp_path / "replies.toml"
    own.write_text('got_it = "Thank you."\nnumber_missing.water = "Water, how much?"\n')
    replies = Replies.load(SHIPPED, own, speech=Speech())
    assert replies.render(say("got_it", timer="mix")) == "Thank you."
    assert replies.render(say("number_missing", command="water")) == "Water, how much?"
    assert replies.render(say("number_missing", command="flour")) == "How much flour?"
    assert replies.render(say("on_target")) == "On target."


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('water_inn = "x."', "nothing is announced as 'water_inn'; remove it or mend its name"),
        ('water_in = "{gram:mass} in."', "water_in: value 'gram' is not known here; it has grams"),
        ('on_target = "{grams:mass}."', "on_target: value 'grams' is not known here; it has none"),
        (
            'water_in = "{grams:name} in."',
            "water_in: grams can't be written as 'name'; write about, count, digits, duration, mass, percent",
        ),
        (
            'die_named = "{die}."',
            "die_named: die can't be written as ''; write allergens, digits, label, listed, name, timer",
        ),
        (
            'water_in = "{grams:mass in."',
            "water_in: a brace stands alone; a value is written {name:format}",
        ),
        ("water_in = 5", "water_in: 5 is not a sentence; write it in quotes"),
        ('water_in = " "', "water_in: ' ' is not a sentence; write it in quotes"),
        (
            'where.by = "crumb"',
            "where.by: 'crumb' is not a value of it; it has batch, flour, hydration, water",
        ),
    ],
)
def test_a_wording_that_can_not_be_spoken_is_refused_in_one_line(
    tmp_path: Path, text: str, line: str
) -> None:
    own = tmp_path / "replies.toml"
    own.write_text(text)
    with pytest.raises(GrammarError) as caught:
        Replies.load(SHIPPED, own, speech=Speech())
    assert str(caught.value) == f"{own}: {line}"


def test_a_file_that_lacks_a_key_is_refused(tmp_path: Path) -> None:
    own = tmp_path / "replies.toml"
    own.write_text(SHIPPED.read_text().replace("\nat_high = ", "\n# at_high = "))
    with pytest.raises(GrammarError) as caught:
        Replies.load(own, speech=Speech())
    assert str(caught.value) == f"{own}: no wording for at_high; add it"


def test_a_choice_without_other_is_refused(tmp_path: Path) -> None:
    own = tmp_path / "replies.toml"
    own.write_text(SHIPPED.read_text().replace("\nwhere.other = ", "\n# where.other = "))
    with pytest.raises(GrammarError) as caught:
        Replies.load(own, speech=Speech())
    assert str(caught.value) == f"{own}: where: no 'other' for the cases that are not listed; add where.other"


def test_a_file_that_can_not_be_read_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(GrammarError) as caught:
        Replies.load(tmp_path / "none.toml", speech=Speech())
    assert str(caught.value) == (
        f"{tmp_path / 'none.toml'} can't be read (No such file or directory); "
        "make it a readable file, or move it away."
    )
    (tmp_path / "bad.toml").write_text("on_target = ")
    with pytest.raises(
        GrammarError, match=r"bad\.toml is not TOML: Invalid value .*; mend it, or move it away\.$"
    ):
        Replies.load(tmp_path / "bad.toml", speech=Speech())

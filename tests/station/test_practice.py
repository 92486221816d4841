"""Practice: guided by voice, nothing of it is written, and what is of the kitchen goes first."""

from dataclasses import dataclass, field
from queue import Queue
from random import Random

import pytest

from assistant.app.live_station import is_talk
from assistant.batch.record import commands as cmd
from assistant.batch.record.events import ListeningSet, LoudnessSet, PaceSet
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.config.language.practice_prompts import FILE, read_prompts
from assistant.config.resources import grammar_folder
from assistant.ports import Asking, Recognition
from assistant.station.loop import Loop, hear
from assistant.station.messages import Heard, Message
from assistant.station.practice import ASK_AGAIN_S, GIVE_UP_S, MOST_MISSES, prompts_of
from assistant.station.practice_station import PracticeStation
from assistant.station.station import Scale, Turn
from assistant.testing.audio import heard
from tests.station.stand import Stand, grammar, replies

PROMPTS = read_prompts(grammar_folder() / FILE)
FIRST, SECOND = PROMPTS[:2]


@dataclass
class PracticeStand(Stand):
    """A stand whose station can be practised with."""

    rules: BatchRules = field(default_factory=BatchRules)
    prompts: tuple[str, ...] = PROMPTS

    def __post_init__(self) -> None:
        """Put the station together."""
        super().__post_init__()
        self.practice = PracticeStation(
            self.journal,
            self.clock,
            self.rules,
            grammar(),
            replies(),
            prompts=self.prompts,
            scale=self.scale,
        )
        self.station = self.practice
        self.loop = Loop(self.station, Queue[Message](), lambda turn, _: self.turns.append(turn))

    def type(self, text: str) -> str:
        """The replies to a line of the keyboard, joined."""
        return _joined(self.station.hear(text, source="keyboard"))

    def voice(self, text: str, *, margin: float = 20.0, accepted: bool = True, near: bool = False) -> str:
        """The replies to a sentence that was recognised, joined."""
        meant = grammar().parse(text, asking=self.station.asking)
        found: Recognition[cmd.Command] = heard(text, meant, margin=margin, accepted=accepted, near=near)
        turn = hear(self.station, Heard(found), act_above=0.85)
        return "" if turn is None else _joined(turn)

    def written(self) -> list[str]:
        """Classes of all that was written."""
        return [type(event).__name__ for _, event in self.journal.read()]

    def prompt(self) -> str | None:
        """The sentence that was asked for last."""
        practice = self.practice._practice
        return practice.prompt.text if practice and practice.prompt else None

    def follow(self, *, voice: bool) -> str:
        """Do what is asked for until the practice is over; what was said at its end."""
        said = self.voice("practice") if voice else self.type("practice")
        for _ in range(40):
            if not self.practice.practising:
                return said
            if said.endswith("Wait until it rings."):
                (*_, last) = self.wait(30)
                said = _joined(last)
            elif said.endswith("?"):
                said = self.voice("yes") if voice else self.type("yes")
            else:
                text = self.prompt()
                assert text is not None
                assert said.endswith(f": {text}.")
                said = self.voice(text) if voice else self.type(text)
        raise AssertionError("a practice has an end")


def _joined(turn: Turn) -> str:
    return " ".join(reply.text for reply in turn.replies)


def test_ten_prompts_of_the_grammar_with_numbers_that_sound_like_others() -> None:
    prompts = prompts_of(PROMPTS, grammar())
    assert [one.text for one in prompts] == list(PROMPTS)
    assert len(prompts) == 10
    assert {cmd.SetLot, cmd.NewBatch, cmd.AddWater, cmd.MakeThat, cmd.Mix, cmd.GotIt} <= {
        type(one.command) for one in prompts
    }


@pytest.mark.parametrize("voice", [False, True])
def test_a_practice_that_is_followed_writes_nothing_and_says_how_it_went(voice: bool) -> None:
    stand = PracticeStand()
    before = stand.station.state
    said = stand.follow(voice=voice)
    assert stand.written() == []
    assert stand.station.state is before
    assert stand.clock.monotonic() <= 180
    assert said.endswith("Ten of ten at once. Practice is over.")


def test_it_begins_by_saying_that_nothing_is_logged_and_what_to_say() -> None:
    stand = PracticeStand()
    assert stand.voice("practice") == f"Practice, nothing is logged. Say: {FIRST}."
    assert stand.station.asking is Asking.ANSWER


def test_what_the_batch_answers_comes_before_the_next_prompt() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert stand.voice(FIRST) == f"Lot one two. Say: {SECOND}."


def test_the_same_replies_as_in_earnest() -> None:
    stand, earnest = PracticeStand(prompts=("new batch fifteen hundred", "water one fifty", "undo")), Stand()
    stand.voice("practice")
    earnest.say("new batch fifteen hundred")
    first = earnest.station.hear("water one fifty").replies[0].text
    stand.voice("new batch fifteen hundred")
    assert stand.voice("water one fifty").startswith(first)


def test_a_miss_is_counted_once_and_said_again() -> None:
    stand = PracticeStand(prompts=("lot twelve", "lot nine"))
    stand.voice("practice")
    assert stand.voice("basil", accepted=False) == "Again: lot twelve."
    stand.voice("lot twelve")
    assert stand.voice("lot nine").endswith("One of two at once. Practice is over; come closer next time.")


def test_a_prompt_that_is_heard_badly_is_asked_about_and_does_not_count_as_at_once() -> None:
    stand = PracticeStand(prompts=("lot twelve", "lot nine"))
    stand.voice("practice")
    assert stand.voice("lot twelve", margin=1.0) == "Did you say lot twelve?"
    assert stand.voice("no") == "Not logged. Again: lot twelve."
    stand.voice("lot twelve", near=True)
    assert stand.voice("yes").endswith("Say: lot nine.")
    assert stand.voice("lot nine").endswith("One of two at once. Practice is over; come closer next time.")
    assert stand.written() == []


def test_a_question_that_nobody_answers_lapses_and_the_prompt_comes_again() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    stand.voice(FIRST, margin=1.0)
    (turn,) = stand.wait(10)
    assert _joined(turn) == f"No answer, not logged. Again: {FIRST}."


def test_what_was_not_asked_for_is_not_done_and_that_is_said() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    said = stand.voice("new batch fifteen hundred")
    assert said == f"I heard new batch fifteen hundred. Say: {FIRST}."
    assert stand.station.state == State()
    assert stand.practice._practice is not None
    assert stand.practice._practice.sandbox.state == State()


def test_after_three_misses_it_goes_on_and_does_the_step_itself() -> None:
    stand = PracticeStand(prompts=("new batch one kilo", "water one fifty"))
    stand.voice("practice")
    for _ in range(MOST_MISSES - 1):
        assert stand.voice("basil", accepted=False) == "Again: new batch one kilo."
    assert stand.voice("basil", accepted=False) == "Leave that one. Say: water one fifty."
    assert stand.voice("water one fifty").endswith(
        "One of two at once. Practice is over; come closer next time."
    )


def test_what_is_left_untouched_for_long_is_said_again_and_then_over() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert [_joined(turn) for turn in stand.wait(ASK_AGAIN_S)] == [f"Again: {FIRST}."]
    assert [_joined(turn) for turn in stand.wait(GIVE_UP_S)] == ["Practice is over."]
    assert not stand.practice.practising
    assert stand.wait(3600) == []


def test_a_ring_that_nobody_answers_does_not_keep_it_open_for_ever() -> None:
    stand = PracticeStand(prompts=("mix twenty seconds", "got it"))
    stand.voice("practice")
    assert stand.voice("mix twenty seconds").endswith("Wait until it rings.")
    rang = stand.wait(3600)
    assert _joined(rang[0]).endswith("Say: got it.")
    assert not stand.practice.practising


def test_while_it_waits_for_the_ring_nothing_else_is_taken() -> None:
    stand = PracticeStand(prompts=("mix twenty seconds", "got it"))
    stand.voice("practice")
    stand.voice("mix twenty seconds")
    for said in (stand.voice("got it"), stand.voice("lot nine"), stand.type("bring the basil")):
        assert said == "Wait until it rings."
    stand.wait(20)
    assert stand.voice("got it").endswith("Two of two at once. Practice is over.")


@pytest.mark.parametrize("text", ["stop practice", "end practice", "cancel"])
def test_it_can_be_stopped_at_any_time(text: str) -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert stand.voice(text) == "Practice is over."
    stand.voice("practice")
    stand.voice(FIRST)
    assert stand.voice(text) == "One of one at once. Practice is over."
    assert not stand.practice.practising
    assert stand.station.asking is Asking.NOTHING
    stand.voice("new batch fifteen hundred")
    assert "BatchOpened" in stand.written()


def test_without_a_practice_there_is_none_to_stop() -> None:
    assert PracticeStand().voice("stop practice") == "No practice now."


def test_it_is_refused_while_a_batch_is_open() -> None:
    stand = PracticeStand()
    stand.voice("new batch fifteen hundred")
    before = stand.written()
    assert stand.voice("practice") == "Batch one is open. Close it first."
    assert stand.written() == before
    assert not stand.practice.practising


def test_one_that_was_heard_badly_is_asked_about_before_it_begins() -> None:
    stand = PracticeStand()
    assert stand.voice("practice", margin=1.0) == "Did you say practice?"
    assert not stand.practice.practising
    assert stand.voice("yes") == f"Practice, nothing is logged. Say: {FIRST}."


def test_a_timer_of_the_kitchen_rings_in_a_practice_and_is_silenced_first() -> None:
    stand = PracticeStand(prompts=("mix twenty seconds", "got it"))
    stand.voice("timer sauce twenty seconds")
    stand.voice("practice")
    stand.voice("mix twenty seconds")
    sauce, mix = stand.wait(20)
    assert _joined(sauce) == "Sauce timer is up."
    assert _joined(mix).endswith("Say: got it.")
    stand.voice("got it")
    assert not stand.station.state.ringing
    assert stand.prompt() == "got it"
    assert stand.voice("got it").endswith("Two of two at once. Practice is over.")


def test_time_left_is_that_of_the_kitchens_timers() -> None:
    stand = PracticeStand()
    stand.voice("timer sauce ten minutes")
    stand.voice("practice")
    assert "the sauce timer" in stand.voice("time left")


@pytest.mark.parametrize("text", ["stop the machine", "is it off"])
def test_what_is_asked_of_the_machine_is_answered(text: str) -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert stand.voice(text) == "I switch nothing. You switch off."
    assert stand.voice(text, near=True) == "I switch nothing. You switch off."
    assert stand.prompt() == FIRST


def test_louder_is_the_stations_own_and_ears_off_ends_it() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert stand.voice("louder") == "Louder."
    assert stand.station.state.loudness == 1
    assert stand.voice("ears off") == "Not listening. Timers still call."
    assert not stand.practice.practising


@pytest.mark.parametrize("again", [cmd.SayAgain(), cmd.Practice(on=True)])
def test_a_foot_or_a_word_has_the_prompt_said_again(again: cmd.Command) -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert _joined(stand.station.press(again)) == f"Say: {FIRST}."
    assert stand.voice("say again") == f"Say: {FIRST}."
    assert stand.voice(FIRST).endswith(f"Say: {SECOND}.")


def test_a_question_of_the_cooks_is_answered_from_the_practice() -> None:
    stand = PracticeStand(prompts=("new batch one kilo", "water one fifty"))
    stand.voice("practice")
    stand.voice("new batch one kilo")
    assert stand.voice("how much left").startswith("Three ten to target")
    assert stand.voice("water one fifty").endswith("Two of two at once. Practice is over.")


def test_a_typing_slip_has_the_prompt_again_and_talk_by_voice_nothing() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    assert stand.type("lott twelv") == f"Again: {FIRST}."
    assert _joined(stand.station.hear("could you water the basil")) == ""


def test_no_prompts_and_a_scale_that_asks_leave_it_out() -> None:
    assert PracticeStand(prompts=("no sentence of ours",)).voice("practice") == "No practice now."
    busy = PracticeStand(scale=_AskingScale())
    assert busy.voice("practice") == "The scale is being calibrated. Say cancel first."
    assert not busy.practice.practising


class _AskingScale(Scale):
    """A scale that is being calibrated."""

    @property
    def asking(self) -> Asking:
        """It waits for an answer."""
        return Asking.ANSWER

    def answer(self, command: cmd.Command, state: State, *, unsure: bool) -> None:  # noqa: ARG002
        """Nothing is its own."""
        return


@pytest.mark.parametrize(
    "rules",
    [
        BatchRules(target_pct=20.0, low_pct=15.0, high_pct=25.0),
        BatchRules(target_pct=45.0, low_pct=44.0, high_pct=46.0),
        BatchRules(hopper_g=500.0),
        BatchRules(first_pour_share=0.1),
    ],
)
def test_a_kitchen_with_other_figures_can_practise_too(rules: BatchRules) -> None:
    stand = PracticeStand(rules=rules)
    assert stand.follow(voice=False).endswith("at once. Practice is over.")
    assert stand.written() == []


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_said_in_a_practice_writes_at_most_what_is_the_stations_own(seed: int) -> None:
    chance = Random(seed)
    examples = [one for rule in grammar().phrases().values() for one in rule]
    stand = PracticeStand()
    stand.voice("practice")
    allowed = {kind.__name__ for kind in (LoudnessSet, PaceSet, ListeningSet)}
    for _ in range(60):
        text = stand.prompt() if chance.random() < 0.4 else chance.choice(examples)
        if not stand.practice.practising or text is None:
            break
        stand.type(text) if chance.random() < 0.5 else stand.voice(text, margin=chance.choice((1.0, 20.0)))
        stand.wait(chance.choice((0.0, 3.0, 15.0)))
        assert set(stand.written()) <= allowed
        assert stand.station.state.batch is None


def test_what_is_said_to_a_sentence_that_does_not_fit_is_spoken_at_the_microphone() -> None:
    stand = PracticeStand()
    stand.voice("practice")
    message = Heard(heard("basil", None, accepted=False))
    turn = hear(stand.station, message, act_above=0.85)
    assert turn is not None
    assert turn.command is None
    assert not is_talk(turn, message)
    assert is_talk(Turn(0.0, "basil", None, ()), message)
    assert not is_talk(Turn(0.0, None, None, ()), None)

"""The single writer: what is journalled, what is said, and in which order."""

from dataclasses import replace
from queue import Empty, Queue

import pytest

from assistant.asr.confidence import UNCONFIRMED
from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.rules import BatchRules
from assistant.clock import ScriptedClock
from assistant.errors import JournalError
from assistant.ports import Hypothesis, Stamp
from assistant.station.loop import LONGEST_WAIT_S, Loop
from assistant.station.messages import Died, Found, Heard, Lost, Message, Stop, Typed
from assistant.station.station import WRITE_AGAIN_S, Station, Turn, shift_since
from tests.station.stand import Stand, grammar, meaning, replies, understood


def test_read_back_of_the_design() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    assert stand.say("water one fifty") == "One fifty in. Three fifteen left."


def test_nothing_is_said_as_done_before_it_is_on_disk() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    before = stand.station.state
    stand.journal.fail = JournalError("the disk is full")
    assert stand.say("water one fifty") == "I can't write it down. Keep the account on paper."
    assert stand.station.state is before
    stand.journal.fail = None
    assert stand.say("water one fifty") == "One fifty in. Three fifteen left."
    assert replay(event for _, event in stand.journal.read()) == stand.station.state


def test_talk_is_not_answered() -> None:
    stand = Stand()
    turn = stand.station.hear("could you water the basil")
    assert turn == Turn(0.0, "could you water the basil", None, ())


def test_say_again_repeats_the_last_words_and_not_itself() -> None:
    stand = Stand()
    said = stand.say("new batch fifteen hundred")
    assert stand.say("say again") == said
    assert stand.say("say again") == said
    assert Stand().say("say again") == "Say again?"


def test_an_unsure_number_is_asked_about_and_yes_logs_it() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    assert stand.say("water one sixty", unsure=True).endswith("?")
    assert stand.station.asking
    assert stand.say("yes") == "One sixty in. Three oh five left."


@pytest.mark.parametrize(
    "sentence", ["rest ninety seconds", "mix two minutes", "timer two five minutes", "tray done"]
)
def test_whatever_changes_something_is_asked_about_when_unsure(sentence: str) -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    events = len(list(stand.journal.read()))
    assert stand.say(sentence, unsure=True) == f"Did you say {sentence}?"
    assert len(list(stand.journal.read())) == events + 1
    stand.say("no")
    assert not stand.station.state.timers


def _stamp(clock: ScriptedClock, *, trusted: bool = True) -> Stamp:
    return Stamp(1, clock.wall(), clock.monotonic(), clock.boot_id(), trusted)


def test_time_goes_on_within_a_boot() -> None:
    clock = ScriptedClock()
    last = _stamp(clock)
    clock.move(500)
    assert shift_since(last, clock) == (0.0, True)
    assert shift_since(None, clock) == (0.0, True)


def test_trusted_wall_clocks_tell_how_long_the_power_was_off() -> None:
    clock = ScriptedClock(monotonic=1000.0)
    last = _stamp(clock)
    clock.reboot("second", off_s=90.0)
    clock.move(10.0)
    # A timer due at 1060 of the old boot was due 60 s after the last word, which is 100 s ago: at -30 now.
    shift, certain = shift_since(last, clock)
    assert certain
    assert 1060.0 + shift == pytest.approx(10.0 - 100.0 + 60.0)


@pytest.mark.parametrize(("before", "after"), [(False, True), (True, False)])
def test_without_trust_on_both_sides_the_time_off_is_uncertain(before: bool, after: bool) -> None:
    clock = ScriptedClock(monotonic=1000.0)
    last = _stamp(clock, trusted=before)
    clock.reboot("second", off_s=90.0, trusted=after)
    assert shift_since(last, clock) == (-1000.0, False)


def test_a_wall_clock_that_went_back_is_not_believed() -> None:
    clock = ScriptedClock(monotonic=1000.0)
    last = _stamp(clock)
    clock.reboot("second")
    clock.set_wall(last.wall - 3600)
    assert shift_since(last, clock) == (-1000.0, False)


def test_an_open_batch_is_told_at_the_start_and_a_ringing_timer_rings_on() -> None:
    stand = Stand()
    stand.say("new batch fifteen hundred")
    stand.say("water four thirty")
    stand.say("mix one minute")
    stand.clock.move(60)
    stand.station.due()
    state, last = stand.journal.load()
    stand.clock.reboot("second", off_s=30.0)
    again = Station(stand.journal, stand.clock, BatchRules(), grammar(), replies(), state)
    told = " ".join(reply.text for reply in again.start(last).replies)
    assert told == "Batch one: four thirty in, thirty-five left."
    assert again.next_due is not None
    assert again.next_due <= again.now
    rung = again.due()
    assert rung is not None
    assert [reply.key for reply in rung.replies] == ["mix_rings"]


class Transcript:
    """Keeps what a loop tells."""

    def __init__(self) -> None:
        self.keys: list[str] = []

    def __call__(self, turn: Turn, _: Message | None) -> None:
        self.keys += [reply.key for reply in turn.replies]


def _loop(stand: Stand, *messages: Message) -> tuple[Loop, Transcript]:
    inbox: Queue[Message] = Queue()
    for message in messages:
        inbox.put(message)
    transcript = Transcript()
    return Loop(stand.station, inbox, transcript, act_above=0.85), transcript


def test_a_due_timer_goes_before_queued_messages() -> None:
    stand = Stand()
    stand.say("timer two one minute")
    stand.clock.move(60)
    loop, transcript = _loop(stand, Typed("got it"))
    loop.turn()
    loop.turn()
    assert transcript.keys == ["timer_rings", "got_it"]


def test_messages_are_taken_in_order_and_stop_ends_after_them() -> None:
    stand = Stand()
    loop, transcript = _loop(
        stand,
        Heard(understood("new batch fifteen hundred")),
        Heard(understood("water one sixty", margin=1.0)),
        Heard(understood("yes", accepted=False)),
        Heard(understood("yes")),
        Heard(understood("water one fifty"), clipped=True),
        Stop(),
    )
    loop.run()
    assert transcript.keys == [
        "batch_opened",
        "first_pour",
        "ask_unsure_amount",
        "yes_or_no",
        "water_in",
        "left",
        "ask_unsure_amount",
    ]


def test_a_teen_in_noise_is_asked_about_where_its_ty_makes_sense_and_in_quiet_is_not() -> None:
    stand = Stand()
    loop, transcript = _loop(
        stand,
        Heard(understood("new batch fifteen hundred"), snr_db=10.0),
        Heard(understood("water fifty"), snr_db=10.0),
        Heard(understood("water fifteen"), snr_db=50.0),
        Heard(understood("water one fifteen"), snr_db=10.0),
        Heard(understood("yes"), snr_db=10.0),
        Stop(),
    )
    loop.run()
    opened, twice = ["batch_opened", "first_pour"], ["water_in_twice", "left"]
    assert transcript.keys == [*opened, *twice, *twice, "ask_twin", "water_in", "left"]


def test_say_again_that_may_be_same_again_is_asked_about_where_there_is_a_batch_to_repeat() -> None:
    heard_so = replace(
        understood("say again"),
        alternatives=(Hypothesis("same again", meaning("same again"), 0.5, behind=7.0),),
    )
    stand = Stand()
    said = [Heard(understood(text)) for text in ("new batch fifteen hundred", "drop batch")]
    loop, transcript = _loop(
        stand, Heard(heard_so), *said, Heard(heard_so), Heard(understood("yes")), Heard(heard_so), Stop()
    )
    loop.run()
    opened = ["batch_opened", "first_pour"]
    assert transcript.keys == ["say_again", *opened, "batch_dropped", "ask_unsure", *opened, *opened]
    assert stand.station.state.last_batch == 2


def test_at_a_keyboard_the_first_pour_of_fifty_is_fifty() -> None:
    stand = Stand()
    loop, transcript = _loop(
        stand, *(Typed(line) for line in ("new batch two kilos", "water fifty", "water thirteen")), Stop()
    )
    loop.run()
    assert transcript.keys == ["batch_opened", "first_pour", *["water_in", "left"] * 2]


def test_what_fits_badly_is_asked_about_where_it_would_change_something() -> None:
    stand = Stand()
    loop, transcript = _loop(
        stand,
        Heard(understood("new batch fifteen hundred")),
        Heard(understood("water one sixty", near=True), clipped=True),
        Heard(understood("how much left", near=True)),
        Heard(understood("water", near=True)),
        Heard(understood("got it", near=True)),
        Heard(understood("water one sixty", near=True)),
        Heard(understood("water one fifty", near=True)),
        Heard(understood("yes")),
        Stop(),
    )
    loop.run()
    opened, poured = ["batch_opened", "first_pour"], ["water_in", "left"]
    assert transcript.keys == [*opened, "ask_unsure_amount", "yes_or_no", *poured]
    assert stand.station.state.batch is not None
    assert stand.station.state.batch.water_g == 160


@pytest.mark.parametrize(
    ("meant", "done"),
    [("how much left", "to_marks"), ("rest five minutes", "resting_for")],
)
def test_what_was_said_in_other_words_is_asked_about_whatever_it_means(meant: str, done: str) -> None:
    stand = Stand()
    guessed = replace(understood(meant, near=True, accepted=False), guessed=True, sure=UNCONFIRMED)
    assert stand.station.rescore(guessed) == guessed, "whatever the moment speaks for"
    loop, transcript = _loop(
        stand,
        Heard(understood("new batch fifteen hundred")),
        Heard(guessed),
        Heard(understood("yes")),
        Stop(),
    )
    loop.run()
    assert transcript.keys == ["batch_opened", "first_pour", "ask_meant", done]


def test_what_fits_badly_is_left_alone_while_nobody_is_listened_to() -> None:
    stand = Stand()
    stand.say("ears off")
    loop, transcript = _loop(stand, Heard(understood("mix two minutes", near=True)), Stop())
    loop.run()
    assert transcript.keys == []


def test_a_dead_worker_and_a_lost_microphone_are_told_and_the_account_goes_on() -> None:
    stand = Stand()
    loop, transcript = _loop(
        stand,
        Died("recogniser", "MemoryError"),
        Lost("microphone", "unplugged"),
        Typed("new batch fifteen hundred"),
        Found("microphone"),
        Stop(),
    )
    loop.run()
    assert transcript.keys == ["worker_died", "cannot_hear", "batch_opened", "first_pour", "hearing_again"]


class _Waits(Queue[Message]):
    """An inbox into which nothing comes; it notes how long it was to be waited for (s), and does not wait."""

    def __init__(self) -> None:
        super().__init__()
        self.seconds: list[float | None] = []

    def get(self, block: bool = True, timeout: float | None = None) -> Message:
        self.seconds.append(timeout if block else 0.0)
        raise Empty


@pytest.mark.parametrize("timer", [False, True])
def test_no_wait_is_without_an_end(timer: bool) -> None:
    """A signal that comes between two waits is seen at the next one, whatever is due and when."""
    stand, inbox = Stand(), _Waits()
    if timer:
        stand.say("timer two ten minutes")
    loop = Loop(stand.station, inbox, Transcript())
    assert not loop.turn()
    assert inbox.seconds == [LONGEST_WAIT_S]


def test_a_turn_waits_no_longer_than_until_something_is_due() -> None:
    stand, inbox = Stand(), _Waits()
    stand.say("timer two one minute")
    stand.clock.move(59.75)
    Loop(stand.station, inbox, Transcript()).turn()
    assert inbox.seconds == [0.25]


def test_a_turn_without_anything_to_do_says_so() -> None:
    loop, transcript = _loop(Stand())
    assert not loop.turn(wait=False)
    assert transcript.keys == []


def test_what_falls_due_on_the_way_is_done_at_its_own_time() -> None:
    stand = Stand()
    stand.say("timer two one minute")
    stand.say("timer three two minutes")
    turns = stand.wait(125.0)
    rings = [(turn.at, reply.key) for turn in turns for reply in turn.replies]
    assert rings[0] == (60.0, "timer_rings")
    assert (120.0, "timer_rings") in rings
    assert stand.clock.monotonic() == 125.0


def test_a_journal_that_cant_be_written_is_tried_again_later_and_said_each_time() -> None:
    stand = Stand()
    stand.say("timer two one minute")
    stand.journal.fail = JournalError("the disk is full")
    failed = [turn.at for turn in stand.wait(60.0 + 2.5 * WRITE_AGAIN_S)]
    assert failed == [60.0, 60.0 + WRITE_AGAIN_S, 60.0 + 2 * WRITE_AGAIN_S]
    stand.journal.fail = None
    [rings, *_] = stand.wait(WRITE_AGAIN_S)
    assert (rings.at, rings.replies[0].key) == (60.0 + 3 * WRITE_AGAIN_S, "timer_rings_late")


def test_other_messages_are_taken_while_the_journal_cant_be_written() -> None:
    stand = Stand()
    stand.say("timer two one minute")
    stand.clock.move(60)
    stand.journal.fail = JournalError("the disk is full")
    loop, transcript = _loop(stand, Typed("how much left"))
    loop.turn()
    loop.turn()
    assert transcript.keys == ["cannot_write", "no_batch"]
    assert not loop.turn(wait=False)


def test_help_goes_on_within_a_minute_and_begins_again_after_another_command() -> None:
    stand = Stand()

    def page() -> str:
        return stand.station.hear("help").replies[0].key

    assert [page(), page()] == ["help_idle", "help_numbers"]
    stand.wait(59.0)
    assert page() == "help_mend"
    stand.wait(61.0)
    assert [page(), page()] == ["help_idle", "help_numbers"]
    stand.station.hear("what next")
    assert page() == "help_idle"

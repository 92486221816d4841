"""The jug scale calibrated by voice: a whole calibration, every refusal, and that it logs no water."""

from dataclasses import replace
from pathlib import Path
from queue import Queue

import numpy as np
import pytest
import soundfile

from assistant.batch.record.state import State
from assistant.batch.record.steps import Step, Walking
from assistant.devices.scale.calibrating import LAPSE_S, WAIT_S
from assistant.devices.scale.samples import sample_lines
from assistant.devices.scale.weight import SATURATED, Calibration, load_calibration
from assistant.errors import DeviceError
from assistant.ports import SPEECH_RATE, Asking
from assistant.station.messages import Message, Noticed
from tests.asr.speech import espeak
from tests.cli.conftest import Run
from tests.devices.scale.plate import Plate, counts_of
from tests.devices.scale.scale_kitchen import BEFORE, EMPTY, HANDS_OFF, MASS, TAKEN, TRUTH, Kitchen
from tests.station.stand import Stand


@pytest.fixture
def kitchen(tmp_path: Path) -> Kitchen:
    return Kitchen(tmp_path)


def test_a_whole_calibration_and_the_next_pour_by_the_new_factor(kitchen: Kitchen) -> None:
    kitchen.say("new batch fifteen hundred")
    kitchen.put(1800).rest(6)
    # The cell reads 1.9 % more than by the calibration before: 200 g are read as 204.
    assert kitchen.pour(200).startswith("Two oh four in.")
    assert kitchen.say("calibrate the scale") == EMPTY
    assert kitchen.put(0).rest(2) == ""
    assert kitchen.say("done") == HANDS_OFF
    assert kitchen.rest(TAKEN) == MASS
    assert kitchen.put(1000).rest(2) == ""
    assert kitchen.say("one kilo") == HANDS_OFF
    assert kitchen.factor() is None
    assert kitchen.rest(TAKEN) == "One kilo read, calibrated. Take the weight off."
    assert kitchen.factor() == pytest.approx(428, rel=0.001)
    assert kitchen.put(0).rest(2) == ""
    assert kitchen.put(1600).rest(5) == ""
    assert kitchen.say("jug reading") == "Sixteen hundred on the scale."
    assert kitchen.pour(200).startswith("Two hundred in.")
    assert kitchen.water_g == 404


def test_nothing_is_said_as_done_before_it_is_on_disk(tmp_path: Path) -> None:
    order: list[str] = []

    class Inbox(Queue[Message]):
        def put(self, item: Message, block: bool = True, timeout: float | None = None) -> None:
            assert isinstance(item, Noticed)
            order.append(f"{item.key} with {'a file' if (tmp_path / 'scale.json').exists() else 'none'}")
            super().put(item, block, timeout)

    kitchen = Kitchen(tmp_path, inbox=Inbox())
    kitchen.emptied().put(1000).say("one kilo")
    kitchen.rest(TAKEN)
    assert order == ["calibrate_mass with none", "calibrated with a file"]


def test_what_can_not_be_written_is_not_calibrated(tmp_path: Path) -> None:
    def full(_: Calibration) -> None:
        raise DeviceError("The disk is full.")

    kitchen = Kitchen(tmp_path, keep=full)
    kitchen.emptied().put(1000).say("one kilo")
    assert kitchen.rest(TAKEN) == "Not calibrated: I can't write it down. Take the weight off."
    kitchen.put(0).rest(2)
    kitchen.put(1800).rest(5)
    assert kitchen.say("jug reading") == "Eighteen thirty-four on the scale."  # by the factor before


@pytest.mark.parametrize("step", ["begun", "reading empty", "asked", "reading the weight", "far", "unsteady"])
def test_cancel_at_any_step_leaves_the_old_calibration(kitchen: Kitchen, step: str) -> None:
    kitchen.put(0).rest(2)
    kitchen.say("set the scale")
    if step != "begun":
        kitchen.say("done")
    if step not in ("begun", "reading empty"):
        assert kitchen.rest(TAKEN) == MASS
        kitchen.put(1000)
    if step == "reading the weight":
        kitchen.say("one kilo")
    if step == "far":
        kitchen.say("two kilos")
        assert kitchen.rest(TAKEN) == "One thousand and nineteen by the old calibration. Is it two kilos?"
    if step == "unsteady":
        kitchen.say("one kilo")
        kitchen.rest(WAIT_S + 1, push_g_per_s=20)
    took_off = "" if step == "begun" else " Take the weight off."
    assert kitchen.say("cancel") == f"Not calibrated.{took_off}"
    assert kitchen.say("cancel") == "Nothing to take back."
    kitchen.put(0).rest(2)
    assert kitchen.factor() is None
    kitchen.put(1800).rest(5)
    # 1800 g by the factor before; where the empty plate was taken, its zero is 2.4 g better.
    read = "seven" if step in ("begun", "reading empty") else "four"
    assert kitchen.say("jug reading") == f"Eighteen thirty-{read} on the scale."


def test_a_weight_that_was_misheard_is_asked_about_and_said_again(kitchen: Kitchen) -> None:
    kitchen.emptied().put(1500).say("fifteen hundred")
    assert kitchen.rest(TAKEN).startswith("Fifteen hundred read, calibrated.")
    kitchen.put(0).rest(2)
    kitchen.emptied().put(1500).say("one thousand")
    assert kitchen.rest(TAKEN) == "Fifteen hundred by the old calibration. Is it one kilo?"
    assert kitchen.say("no") == MASS
    assert kitchen.say("fifteen hundred grams") == HANDS_OFF
    assert kitchen.rest(TAKEN) == "Fifteen hundred read, calibrated. Take the weight off."


def test_the_right_weight_answers_the_question_too_and_a_yes_takes_a_new_cell(kitchen: Kitchen) -> None:
    kitchen.emptied().put(1500).say("one thousand")
    assert kitchen.rest(TAKEN) == "Fifteen twenty-nine by the old calibration. Is it one kilo?"
    assert kitchen.say("one and a half kilos") == "Fifteen hundred read, calibrated. Take the weight off."
    kitchen.put(0).rest(2)
    kitchen.truth = Calibration(zero=85_000, counts_per_gram=214, mass_g=0, noise_g=0)
    kitchen.emptied().put(1000).say("one kilo")
    assert kitchen.rest(TAKEN) == "Five hundred by the old calibration. Is it one kilo?"
    assert kitchen.say("yes") == "One kilo read, calibrated. Take the weight off."
    assert kitchen.factor() == pytest.approx(214, rel=0.001)


def test_the_first_calibration_says_the_weight_back_before_it_counts(tmp_path: Path) -> None:
    kitchen = Kitchen(tmp_path, before=None)
    assert kitchen.rest(2) == ""
    lacks = "The scale is not calibrated. Say set the scale."
    assert (kitchen.say("jug reading"), kitchen.say("zero the jug")) == (lacks, lacks)
    kitchen.emptied().put(2000).say("two thousand grams")
    assert kitchen.rest(TAKEN) == "Two kilos, two zero zero zero?"
    assert kitchen.factor() is None
    assert kitchen.say("yes") == "Two kilos read, calibrated. Take the weight off."
    kitchen.put(0).rest(2)
    kitchen.put(1800).rest(4)
    assert kitchen.say("jug reading") == "Eighteen hundred on the scale."


def test_a_plate_that_is_not_empty_is_asked_about(kitchen: Kitchen) -> None:
    kitchen.put(1800).rest(3)
    kitchen.say("set the scale")
    kitchen.say("done")
    asked = "Eighteen thirty-seven on it, by the old calibration. Is it empty?"
    assert kitchen.rest(TAKEN) == asked
    assert kitchen.say("no") == EMPTY
    kitchen.say("done")
    assert kitchen.rest(TAKEN) == asked
    assert kitchen.say("yes") == MASS  # another plate: the cook knows better
    kitchen.put(1000).say("one kilo")
    less = "That is less than empty. Take everything off the scale, then say done."
    assert kitchen.rest(TAKEN) == less


REFUSED = [
    (0.0, "one kilo", "There is nothing on the scale. Put the weight on, then say how many grams."),
    (30.0, "one kilo", "There is nothing on the scale. Put the weight on, then say how many grams."),
    (100.0, "one hundred grams", "Two hundred at least, near a full jug. Say how many grams."),
    (1000.0, "one litre", "The weight is in grams or kilos."),
    (1000.0, "done", MASS),
    (1000.0, "yes", MASS),
    (1000.0, "skip", MASS),
    (1000.0, "say again", MASS),
    (1000.0, "help", MASS),
]


@pytest.mark.parametrize(("on_g", "said", "answer"), REFUSED)
def test_a_weight_that_can_not_be_is_one_line_and_may_be_said_again(
    kitchen: Kitchen, on_g: float, said: str, answer: str
) -> None:
    first = kitchen.emptied().put(on_g).say(said)
    assert (kitchen.rest(TAKEN) if first == HANDS_OFF else first) == answer
    kitchen.put(1000).say("one kilo")
    assert kitchen.rest(TAKEN).startswith("One kilo read, calibrated.")


def test_without_a_calibration_before_nothing_on_the_plate_is_found_by_the_counts(tmp_path: Path) -> None:
    kitchen = Kitchen(tmp_path, before=None)
    kitchen.emptied().say("one kilo")
    assert kitchen.rest(TAKEN).startswith("There is nothing on the scale.")


def test_an_unsteady_plate_is_reported_and_done_tries_again(kitchen: Kitchen) -> None:
    kitchen.emptied().put(1000).say("one kilo")
    unsteady = "The scale is unsteady. Let it rest, then say done."
    assert kitchen.rest(WAIT_S + 0.5, push_g_per_s=20) == unsteady
    assert kitchen.rest(5) == ""
    assert kitchen.say("done") == HANDS_OFF
    assert kitchen.rest(WAIT_S + 0.5, motor_g=40) == unsteady
    assert kitchen.say("next") == HANDS_OFF
    assert kitchen.rest(TAKEN).startswith("One kilo read, calibrated.")


def test_a_motor_next_to_it_makes_it_no_worse_than_a_gram_in_a_kilo(kitchen: Kitchen) -> None:
    kitchen.say("set the scale")
    kitchen.say("done")
    assert kitchen.rest(TAKEN, motor_g=8) == MASS
    kitchen.put(2000).say("two kilos")
    assert kitchen.rest(TAKEN, motor_g=8).startswith("Two kilos read, calibrated.")
    assert kitchen.factor() == pytest.approx(428, rel=0.001)


@pytest.mark.parametrize("end", SATURATED)
def test_the_end_of_the_range_is_reported_once(kitchen: Kitchen, end: int) -> None:
    kitchen.emptied().say("one kilo")
    for _ in range(60):
        kitchen.at += 0.1
        kitchen.adapter.scale.feed(end, kitchen.at)
    found = [kitchen.inbox.get_nowait() for _ in range(kitchen.inbox.qsize())]
    assert found == [Noticed("calibrate_range", {}, "question")]


def test_a_scale_that_goes_ends_it(kitchen: Kitchen) -> None:
    kitchen.emptied()
    kitchen.adapter.scale.gone(True)
    assert kitchen.inbox.get_nowait() == Noticed("scale_lost")
    assert kitchen.stand.station.asking == Asking.NOTHING
    assert kitchen.say("set the scale") == "The jug scale is gone. Say water and how much."
    assert kitchen.say("done") == ""


def test_without_a_scale() -> None:
    assert Stand().say("set the scale") == "There is no jug scale."
    assert Stand().say("one kilo") == ""


def test_no_word_for_two_minutes_and_it_is_left(kitchen: Kitchen) -> None:
    kitchen.emptied()
    assert kitchen.rest(LAPSE_S - 1) == ""
    assert kitchen.rest(2) == "Not calibrated. Take the weight off."
    assert kitchen.stand.station.asking == Asking.NOTHING


def test_not_while_a_pour_is_on_its_way(kitchen: Kitchen) -> None:
    kitchen.say("new batch fifteen hundred")
    kitchen.put(1800).rest(6)
    kitchen.put(0).rest(3)
    assert kitchen.say("set the scale") == "The jug is off. Put it back, then say set the scale."
    assert kitchen.put(1600).rest(5).startswith("Two oh four in.")
    assert kitchen.say("set the scale") == EMPTY
    kitchen.say("cancel")
    kitchen.say("drop batch")
    kitchen.put(1600).rest(6)
    kitchen.put(0).rest(3)
    assert kitchen.say("set the scale") == EMPTY  # no batch, no pour


def test_no_water_is_logged_by_what_is_put_on_and_taken_off(kitchen: Kitchen) -> None:
    kitchen.say("new batch fifteen hundred")
    kitchen.put(1800).rest(6)
    kitchen.emptied()
    for load in (1200.0, 0.0, 2000.0):
        assert kitchen.put(load).rest(4) == ""
    kitchen.say("two kilos")
    assert kitchen.rest(TAKEN).startswith("Two kilos read, calibrated.")
    assert kitchen.rest(8) == ""
    assert kitchen.put(0).rest(3) == ""
    assert kitchen.put(1800).rest(5) == ""  # lighter than the weight: no pour
    assert kitchen.water_g == 0
    assert kitchen.pour(150).startswith("One fifty in.")


def test_a_weight_that_is_left_on_after_a_cancel_is_no_jug(kitchen: Kitchen) -> None:
    kitchen.say("new batch fifteen hundred")
    kitchen.emptied().put(2000).rest(4)
    kitchen.say("cancel")
    assert kitchen.rest(6) + kitchen.put(0).rest(3) + kitchen.put(1500).rest(6) == ""
    assert kitchen.water_g == 0


def test_an_empty_plate_that_was_taken_is_a_zero_after_a_cancel_too(tmp_path: Path) -> None:
    """Another plate, 100 g heavier: the calibration before counts on, and the jug is still seen."""
    kitchen = Kitchen(tmp_path, truth=replace(BEFORE, zero=BEFORE.zero + 42_000))
    kitchen.say("new batch fifteen hundred")
    kitchen.say("set the scale")
    kitchen.say("done")
    assert kitchen.rest(TAKEN) == "One hundred on it, by the old calibration. Is it empty?"
    assert kitchen.say("yes") == MASS
    kitchen.say("cancel")
    kitchen.rest(2)
    kitchen.put(1800).rest(5)
    assert kitchen.say("jug reading") == "Eighteen hundred on the scale."
    assert kitchen.pour(150).startswith("One fifty in.")


def test_the_batch_goes_on_meanwhile(kitchen: Kitchen) -> None:
    kitchen.say("new batch fifteen hundred")
    kitchen.emptied()
    assert kitchen.say("water one fifty") == "One fifty in. Three fifteen left."
    assert kitchen.say("water five").endswith("?")
    assert kitchen.say("yes").startswith("Five in.")  # the batch's question, not the scale's
    assert kitchen.say("opening check") == "The scale is being calibrated. Say cancel first."
    assert kitchen.say("zero the jug") == "The scale is being calibrated. Say cancel first."
    assert kitchen.say("set the scale") == MASS
    kitchen.put(1000).say("one kilo")
    assert kitchen.rest(TAKEN).startswith("One kilo read, calibrated.")
    assert kitchen.water_g == 155


def test_a_question_comes_first(kitchen: Kitchen) -> None:
    kitchen.say("new batch fifteen hundred")
    assert kitchen.say("water five").endswith("?")
    assert kitchen.say("set the scale") == "Yes or no?"
    assert kitchen.say("no") == "Not logged."
    assert kitchen.say("set the scale") == EMPTY


def test_a_walk_through_comes_first(kitchen: Kitchen) -> None:
    walk = Walking("clean down", (Step("Unplugged.", safety=True), Step("Dry it.")), 1.0)
    kitchen.stand.station.state = State(walks=(walk,))
    assert kitchen.say("set the scale") == "Clean down is open. Say leave it, then set the scale."
    kitchen.stand.station.state = State()
    assert kitchen.say("set the scale") == EMPTY


def test_what_was_badly_heard_moves_nothing(kitchen: Kitchen) -> None:
    assert kitchen.say("set the scale", unsure=True) == "If you mean to calibrate, say set the scale."
    assert kitchen.say("done") == ""
    kitchen.say("set the scale")
    assert kitchen.say("done", unsure=True) == EMPTY
    kitchen.say("done")
    assert kitchen.rest(TAKEN) == MASS
    kitchen.put(1000)
    assert kitchen.say("one kilo", unsure=True) == HANDS_OFF
    assert kitchen.rest(TAKEN) == "One kilo, one zero zero zero?"
    assert kitchen.say("yes", unsure=True) == "One kilo, one zero zero zero?"
    assert kitchen.say("yes").startswith("One kilo read, calibrated.")


def test_what_may_be_said_follows_the_step(kitchen: Kitchen) -> None:
    station = kitchen.stand.station
    asked = [station.asking]
    kitchen.say("set the scale")
    asked.append(station.asking)
    kitchen.say("done")
    kitchen.rest(TAKEN)
    asked.append(station.asking)
    kitchen.say("cancel")
    asked.append(station.asking)
    assert asked == [Asking.NOTHING, Asking.ANSWER, Asking.AMOUNT, Asking.NOTHING]


def test_a_calibration_of_recorded_sound_and_samples(tmp_path: Path, run: Run) -> None:
    """The words as sound through endpointer, recogniser and grammar, the plate as recorded counts."""
    words = [(1.0, "set the scale"), (6.0, "done"), (14.0, "one kilo"), (27.0, "new batch fifteen hundred")]
    sound = np.zeros(int(62 * SPEECH_RATE), np.int16)
    for at, text in words:
        said = espeak(text).pcm // 2
        sound[int(at * SPEECH_RATE) :][: len(said)] = said
    plate = Plate(10.0).move(1800, 0.3).stay(2).move(0, 0.3).stay(8.4).move(1000, 0.3).stay(10.7)
    plate.move(0, 0.3).stay(8.7).move(1800, 0.3).stay(11.7).lift(4, 1600).stay(8)
    samples = [(float(at), counts_of(TRUTH, float(g))) for at, g in zip(*plate.grams(), strict=True)]
    file = tmp_path / "jug.csv"
    file.write_text("\n".join(sample_lines(BEFORE, samples)), encoding="utf-8")
    soundfile.write(tmp_path / "kitchen.wav", sound, SPEECH_RATE)
    found = run("listen", "--json", "--from", str(tmp_path / "kitchen.wav"), "--scale", f"replay:{file}")
    assert (found.status, found.err) == (0, "")
    assert [[reply["key"] for reply in one["replies"]] for one in found.objects] == [
        ["calibrate_empty"],
        ["calibrate_hands_off"],
        ["calibrate_mass"],
        ["calibrate_hands_off"],
        ["calibrated"],
        ["batch_opened", "first_pour"],
        ["water_in", "left"],
    ]
    assert found.objects[-1]["command"]["value"] == 200
    kept = load_calibration(tmp_path / "home" / "scale.json")
    assert kept is not None
    assert kept.counts_per_gram == pytest.approx(428, rel=0.001)
    assert kept.made_at > 0

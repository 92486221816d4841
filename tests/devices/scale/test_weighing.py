"""The jug scale together with the voice, in a station; and a whole batch of recorded sound and samples."""

from pathlib import Path
from queue import Queue

import numpy as np
import pytest
import soundfile

from assistant.app.application import open_application
from assistant.app.live_station import _fit_scale
from assistant.app.scale_setup import calibration_keeper, chosen_scale, fit_scale, recorded_scale
from assistant.clock import ScriptedClock
from assistant.config.home import Home
from assistant.config.station_settings import ScaleSettings
from assistant.devices.scale.jug_scale import Back, Gone, Overloaded, Report
from assistant.devices.scale.pouring import Drifted, Dripped, NotAlone, Pour, Refill, Unsteady
from assistant.devices.scale.samples import sample_lines
from assistant.devices.scale.weight import Calibration
from assistant.errors import DeviceError
from assistant.ports import SPEECH_RATE
from assistant.station.loop import act
from assistant.station.messages import Message, Noticed, Weighed
from assistant.station.scale_adapter import ScaleAdapter, message_of
from tests.asr.speech import espeak
from tests.cli.conftest import Run
from tests.devices.scale.plate import Plate, counts_of
from tests.station.stand import Stand

CALIBRATION = Calibration(zero=84_000, counts_per_gram=420, mass_g=1800, noise_g=0.4)
FULL = 1800.0


def kept(plate: Plate, file: Path, calibration: Calibration | None = CALIBRATION) -> Path:
    samples = [(float(at), counts_of(CALIBRATION, float(g))) for at, g in zip(*plate.grams(), strict=True)]
    file.write_text("\n".join(sample_lines(calibration, samples)), encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("report", "text"),
    [
        (
            Dripped(42.0),
            "Forty-two less in the jug, and it was not lifted. Say water and how much, if it went in.",
        ),
        (NotAlone(), "Leave only the jug on the scale. Say water and how much."),
        (Unsteady(), "The scale is unsteady. Say water and how much."),
        (Overloaded(), "There is too much on the scale."),
        (Drifted(-30.0), "Thirty on the empty scale. Look what touches it, then calibrate it."),
        (Gone(), "The jug scale is gone. Say water and how much."),
        (Back(), "The jug scale works again."),
    ],
)  # fmt: skip
def test_trouble_with_the_scale_is_reported(report: Report, text: str) -> None:
    message = message_of(report)
    assert isinstance(message, Noticed)
    turn = act(Stand().station, message)
    assert turn is not None
    assert " ".join(reply.text for reply in turn.replies) == text


def test_a_refill_needs_no_word() -> None:
    assert message_of(Refill(300.0)) is None


def test_a_pour_is_logged_to_the_gram_and_read_back() -> None:
    stand = Stand()
    message = message_of(Pour(149.6))
    assert message == Weighed(149.6)
    assert isinstance(message, Weighed)
    assert act(stand.station, message) is None  # no batch
    stand.say("new batch fifteen hundred")
    turn = act(stand.station, message)
    assert turn is not None
    assert " ".join(reply.text for reply in turn.replies) == "One fifty in. Three fifteen left."
    assert stand.say("undo") == "One fifty of water taken back. Four sixty-five left."
    unsure = act(stand.station, Weighed(350.0, sure=False))
    assert unsure is not None
    assert [reply.key for reply in unsure.replies] == ["ask_unsure_amount"]


def test_the_cook_asks_the_scale(tmp_path: Path) -> None:
    assert Stand().say("jug reading") == "There is no jug scale."
    clock = ScriptedClock()
    adapter = ScaleAdapter(CALIBRATION, Queue(), calibration_keeper(tmp_path / "scale.json", clock))
    stand = Stand(clock, adapter)
    assert stand.say("jug reading") == "The scale is unsteady. Say water and how much."
    plate = Plate(10.0, zero_g=9.0).stay(3)
    for at, grams in zip(*plate.grams(), strict=True):
        adapter.scale.feed(counts_of(CALIBRATION, grams), at)
    assert stand.say("jug reading") == "The scale is empty."
    assert stand.say("zero the jug") == "The jug scale is at zero."
    plate = Plate(10.0, zero_g=9.0).move(1800.0, 0.3).stay(4)
    for at, grams in zip(*plate.grams(), strict=True):
        adapter.scale.feed(counts_of(CALIBRATION, grams), 10 + at)
    assert stand.say("zero the jug") == "Take the jug off, wait a breath, then say zero the jug."
    assert stand.say("jug reading").endswith(" on the scale.")
    adapter.scale.gone(True)
    assert stand.say("jug reading") == "The jug scale is gone. Say water and how much."


@pytest.mark.parametrize(
    ("scale", "found"),
    [
        (None, "hx711"),
        ("none", None),
        ("nau7802", "nau7802"),
        ("replay:jug.csv", Path("jug.csv")),
    ],
)
def test_the_command_line_goes_before_the_settings(scale: str | None, found: object) -> None:
    assert chosen_scale(scale, ScaleSettings(chip="hx711")) == found


def test_a_scale_that_is_none_is_one_clear_line() -> None:
    with pytest.raises(DeviceError) as caught:
        chosen_scale("kitchen", ScaleSettings())
    assert str(caught.value) == (
        'Found the scale "kitchen", allowed are none, nau7802, hx711 and replay:FILE; name one.'
    )
    with pytest.raises(DeviceError) as caught:
        recorded_scale("hx711")
    assert str(caught.value) == (
        'Found the scale "hx711" beside a recording, allowed is replay:FILE; name a file.'
    )


def test_samples_that_are_not_calibrated_are_one_clear_line(tmp_path: Path) -> None:
    file = kept(Plate(10.0).stay(1), tmp_path / "jug.csv", None)
    inbox: Queue[Message] = Queue()
    with pytest.raises(DeviceError) as caught:
        fit_scale(Home.find(tmp_path), ScaleSettings(), f"replay:{file}", inbox, ScriptedClock())
    assert str(caught.value) == ("The jug scale is not calibrated; do it with crumbcall scale calibrate.")
    assert fit_scale(Home.find(tmp_path), ScaleSettings(), None, inbox, ScriptedClock()) is None


def test_a_chip_that_is_not_calibrated_waits_for_it(tmp_path: Path) -> None:
    fitted = fit_scale(Home.find(tmp_path), ScaleSettings(), "nau7802", Queue(), ScriptedClock())
    assert fitted is not None
    assert not fitted.adapter.scale.calibrated


def test_a_cook_is_shown_how_to_calibrate_it(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('[scale]\nchip = "hx711"\n', encoding="utf-8")
    lines: list[str] = []
    app = open_application(Home.find(tmp_path))
    assert _fit_scale(app, None, Queue(), ScriptedClock(), lines.append) is not None
    assert lines == ["The jug scale is not calibrated: say set the scale."]


def test_a_batch_of_sound_and_samples_together(tmp_path: Path, run: Run) -> None:
    """The cook opens a batch, pours in silence, speaks of the second pour, asks: two pours, two entries."""
    sound, plate = np.zeros(int(45 * SPEECH_RATE), np.int16), Plate(10.0)
    for at, text in ((4.0, "new batch fifteen hundred"), (33.0, "water one fifty"), (40.0, "how much in")):
        said = espeak(text).pcm // 2
        sound[int(at * SPEECH_RATE) :][: len(said)] = said
    plate.stay(1).move(FULL, 0.3).stay(11)
    plate.lift(4, FULL - 200).stay(6)
    plate.lift(4, FULL - 350).stay(16)
    recording = tmp_path / "kitchen.wav"
    soundfile.write(recording, sound, SPEECH_RATE)
    samples = kept(plate, tmp_path / "jug.csv")
    found = run("listen", "--json", "--from", str(recording), "--scale", f"replay:{samples}")
    assert (found.status, found.err) == (0, "")
    replies = [[reply["key"] for reply in one["replies"]] for one in found.objects]
    assert replies == [
        ["batch_opened", "first_pour"],
        ["water_in", "left"],
        ["water_in", "mix_then_squeeze"],
        ["jug_had_it"],
        ["account"],
    ]
    poured = [one["command"]["value"] for one in found.objects[1:3]]
    assert poured == [pytest.approx(200, abs=2), pytest.approx(150, abs=2)]
    assert found.objects[4]["replies"][0]["text"].endswith(" in fifteen hundred of flour.")


def test_a_wrong_scale_is_refused_before_anything_is_opened(run: Run) -> None:
    found = run("listen", "--scale", "kitchen")
    assert (found.status, found.out) == (2, "")
    assert found.err == (
        'crumbcall: Found the scale "kitchen", allowed are none, nau7802, hx711 and replay:FILE; name one.\n'
    )

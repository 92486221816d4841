"""The main job on sound: synthetic speech through the real endpointer, recogniser, journal and voice."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import Application
from assistant.audio.motor import motor
from assistant.ports import SPEECH_RATE, Sound
from assistant.testing.audio import ScriptedRecogniser
from tests.asr.speech import espeak
from tests.cli.conftest import Run
from tests.wav import write_wav

pytestmark = pytest.mark.skipif(
    not (shutil.which("espeak-ng") or shutil.which("espeak")),
    reason="espeak-ng is not installed: no voice to hear",
)

SCENE = """
title = "A short scene"
cook = "en-us"
rate = 150
turn = [
    { say = "new batch eighteen fifty" },
    { talk = "did the fish man come already" },
    { say = "water three hundred" },
    { say = "mix one minute" },
    { until = "ring" },
    { say = "got it" },
    { say = "how much left" },
]
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A home whose rehearsal is the short scene."""
    folder = tmp_path / "home" / "grammar" / "en"
    folder.mkdir(parents=True)
    (folder / "rehearsal.toml").write_text(SCENE, encoding="utf-8")
    return tmp_path


def _recorded(path: Path, *texts: str, end_s: float = 0.0) -> Path:
    """Sentences a second apart with a motor behind them, and so much motor after them."""
    quiet = np.zeros(SPEECH_RATE, np.int16)
    parts = [quiet]
    for text in texts:
        parts += [espeak(text).pcm, quiet]
    parts.append(np.zeros(round(end_s * SPEECH_RATE), np.int16))
    said = np.concatenate(parts).astype(np.int32) // 2
    mixed = np.clip(said + motor(len(said), level_dbfs=-45.0, seed=1), -32768, 32767).astype(np.int16)
    write_wav(path, Sound(mixed))
    return path


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Three sentences and one of talk, with a motor behind them."""
    return _recorded(
        tmp_path / "batch.wav",
        "new batch eighteen fifty",
        "did the fish man come already",
        "water three hundred",
        "how much left",
    )


def test_part_of_a_shift_as_sound(run: Run, tmp_path: Path) -> None:
    path = _recorded(
        tmp_path / "shift.wav",
        "timer three one minute",
        "opening check",
        "done",
        "leave it",
        "cook fusilli",
        end_s=60.0,
    )
    turns = run("listen", "--from", str(path), "--json").objects
    assert [turn["said"] for turn in turns if turn["said"]] == [
        "timer three one minute",
        "opening check",
        "done",
        "leave it",
        "cook fusilli",
    ]
    [ring] = [turn for turn in turns if "timer_rings" in [reply["key"] for reply in turn["replies"]]][:1]
    assert ring["at"] - turns[0]["at"] == pytest.approx(60.0, abs=0.001)


def test_listen_hears_a_recording_as_if_it_were_the_microphone(run: Run, recording: Path) -> None:
    turns = run("listen", "--from", str(recording), "--json").objects
    assert [turn["said"] for turn in turns] == [
        "new batch eighteen fifty",
        "water three hundred",
        "how much left",
    ]
    assert [reply["key"] for reply in turns[1]["replies"]] == ["water_in", "left"]
    assert turns[0]["at"] < turns[1]["at"] < turns[2]["at"]
    [batch] = run("batches", "--json").objects
    assert (batch["flour_g"], batch["water_g"], batch["outcome"]) == (1850.0, 300.0, "open")


def test_hear_tells_what_it_made_of_each_utterance(run: Run, recording: Path) -> None:
    [found] = run("hear", "--json", str(recording)).objects
    assert found["file"] == str(recording)
    said = [one for one in found["utterances"] if one["accepted"]]
    assert [one["text"] for one in said] == [
        "new batch eighteen fifty",
        "water three hundred",
        "how much left",
    ]
    assert said[1]["command"] == {"name": "water", "value": 300, "unit": "g", "grams": 300}
    assert all(one["start"] < one["end"] and one["cost"] < 2 for one in said)


def test_a_rehearsal_leaves_recording_and_sheet(run: Run, home: Path) -> None:
    ran = run("rehearse", "--out", str(home / "out"))
    assert ran.status == 0
    assert "did the fish man come already  [not answered]" in ran.out
    assert "0 not heard; 1 sentences of kitchen talk, 0 acted on" in ran.out
    assert "replayed: the same state" in ran.out
    assert (home / "out" / "conversation.wav").stat().st_size > 100_000
    assert "water 300 g" in (home / "out" / "batch-sheet.md").read_text(encoding="utf-8")
    assert not (home / "home" / "journal.sqlite").exists()


def test_without_a_recogniser_a_rehearsal_fails(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Application, "recogniser", lambda *_, **__: ScriptedRecogniser([], str))
    ran = run("rehearse", "--out", str(home / "out"))
    assert ran.status == 2
    assert ran.err.startswith(
        "crumbcall: The rehearsal did not go well: new batch eighteen fifty, water three hundred,"
    )

"""`crumbcall check` on a virtual sound card: its speaker near its microphone, and not. Time is real here."""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import Application, open_application
from assistant.cli.check.sound import delay, microphone
from assistant.config.home import Home
from assistant.errors import SoundError
from assistant.ports import Pcm
from tests.audio.virtual_card import MICROPHONE, SPEAKER, VirtualCard
from tests.cli.conftest import Run

pytestmark = pytest.mark.sound_card

LONG_TAIL = 2.0
"""A sound server under load may hold a sound longer (s) than the tail that a sound card wants."""


@contextmanager
def beside(card: VirtualCard, held_ms: int) -> Iterator[None]:
    """What comes out of the speaker goes into the room of the microphone, so much later."""
    module = card.control(
        "load-module", "module-loopback", "source=witness", "sink=room", f"latency_msec={held_ms}"
    )
    try:
        yield
    finally:
        card.control("unload-module", module.strip())


@pytest.fixture
def app(tmp_path: Path) -> Application:
    home = tmp_path / "home"
    home.mkdir()
    settings = f'[microphone]\ndevice = "{MICROPHONE}"\n[speaker]\ndevice = "{SPEAKER}"\n'
    (home / "settings.toml").write_text(settings, encoding="utf-8")
    return open_application(Home.find(home))


def milliseconds(found: str) -> int:
    told = re.match(r"a tone is heard after (\d+) ms", found)
    assert told is not None, found
    return int(told.group(1))


class Muted:
    """A microphone that gives nothing but zeros."""

    name = "desk"

    def __init__(self, start: object) -> None:
        self.start = start

    def blocks(self) -> Iterator[Pcm]:
        while True:
            yield np.zeros(512, np.int16)

    def close(self) -> None:
        pass


def test_a_microphone_that_gives_nothing_but_zeros_does_not_work(
    app: Application, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.app.adapters.MicrophoneApart", Muted)
    with pytest.raises(SoundError, match=r"^desk sends nothing but zeros; is it muted or unplugged\?$"):
        microphone(app)


def test_check_times_a_tone_from_the_speaker_to_the_microphone(
    virtual_card: VirtualCard, run: Run, app: Application
) -> None:
    with app.home.settings_file.open("a", encoding="utf-8") as settings:
        settings.write(f"[voice]\ntail_s = {LONG_TAIL}\n")
    with beside(virtual_card, 30):
        ran = run("check", "--json")
    assert ran.status == 0, ran.err
    parts = {part["part"]: part for part in json.loads(ran.out)["parts"]}
    assert re.fullmatch(rf"{SPEAKER}, holds \d+ ms", parts["speaker"]["found"])
    found = parts["speaker to microphone"]
    assert found["works"], found
    assert 30 <= milliseconds(found["found"]) < 1000 * LONG_TAIL


def test_a_tone_that_comes_after_the_microphone_hears_again_is_told(
    virtual_card: VirtualCard, app: Application
) -> None:
    with beside(virtual_card, 900), pytest.raises(SoundError) as told:
        delay(app)
    assert milliseconds(str(told.value)) > 800
    assert "the station hears itself; write tail_s = " in str(told.value)


@pytest.mark.usefixtures("virtual_card")
def test_a_speaker_that_is_not_heard_is_told(app: Application) -> None:
    with pytest.raises(SoundError) as told:
        delay(app)
    assert str(told.value) == "a tone from the speaker is not heard by the microphone"

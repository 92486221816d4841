"""The page of a station that hears: sentences as sound, through detector, recogniser, grammar, to pixels."""

from pathlib import Path

import numpy as np
from playwright.sync_api import expect

from assistant.app.application import open_application
from assistant.config.home import Home
from assistant.hearing.listeners import RecordedHearing
from assistant.hearing.recognising import at_once
from assistant.ports import SPEECH_RATE, Pcm
from tests.asr.speech import espeak, white_noise
from tests.browser.conftest import NewPage
from tests.browser.wall_stand import WallStand

QUIETER = 3
"""The voice is divided by so much; the noise behind it lies some 25 dB below."""


def spoken(sentence: str) -> Pcm:
    """A sentence and the second after it, in noise."""
    said = espeak(sentence).pcm // QUIETER
    sound = white_noise(len(said) / SPEECH_RATE + 1.5, -55.0)
    sound[: len(said)] += said
    return sound


def test_what_is_said_is_on_the_page(tmp_path: Path, wall: WallStand, new_page: NewPage) -> None:
    app, station = open_application(Home.find(tmp_path)), wall.stand.station
    hearing = RecordedHearing(
        wall.loop,
        wall.stand.inbox,
        wall.clock,
        app.listener(at_once(app.recogniser(), lambda: station.asking)),
    )

    def say(sentence: str) -> None:
        hearing.feed(spoken(sentence))
        wall.feed.changed()

    hearing.feed(np.zeros(SPEECH_RATE, np.int16))
    page = new_page(wall.address)
    say("new batch fifteen hundred")
    say("water two hundred")
    expect(page.locator("#heard")).to_contain_text("water two hundred")
    expect(page.locator("#said")).to_contain_text("Two hundred in.")
    expect(page.locator("#number")).to_have_text("130")

    say("could you bring me the big pan please")
    expect(page.locator("#number")).to_have_text("130")

    say("water six hundred")
    expect(page.locator("#question")).to_be_visible()
    say("no")
    expect(page.locator("#question")).to_be_hidden()

    say("water one thirty")
    expect(page.locator("#number")).to_have_text("2:00")

"""Through a sound card the same sentences are heard as from the direct feed. Time is real here."""

import json
import shutil
import signal
import threading
from contextlib import closing
from itertools import islice
from pathlib import Path
from queue import Queue

import numpy as np
import pytest

from assistant.app.application import Application, open_application
from assistant.audio.capture import SoundMicrophone
from assistant.audio.playback import SoundSpeaker
from assistant.clock import RealClock
from assistant.config.home import Home
from assistant.hearing.gate import Gate
from assistant.hearing.listeners import LiveHearing
from assistant.hearing.recognising import at_once
from assistant.journal.reader import JournalReader
from assistant.ports import SPEECH_RATE, Asking, Sound
from assistant.station.messages import Heard, Message
from assistant.station.workers import Worker
from tests.asr.speech import espeak
from tests.audio.listen_process import listen_process
from tests.audio.virtual_card import COOK, LATENCY_S, MICROPHONE, WITNESS

pytestmark = [
    pytest.mark.sound_card,
    pytest.mark.usefixtures("virtual_card"),
    pytest.mark.skipif(
        shutil.which("espeak-ng") is None, reason="espeak-ng is not installed: no cook to hear"
    ),
]

SENTENCES = ("new batch eighteen fifty", "water three hundred", "how much left")


def _speech() -> Sound:
    quiet = np.zeros(SPEECH_RATE, np.int16)
    parts = [quiet]
    for sentence in SENTENCES:
        parts += [espeak(sentence).pcm // 2, quiet]
    return Sound(np.concatenate(parts).astype(np.int16))


def _direct(app: Application, sound: Sound) -> list[str]:
    listener = app.listener(at_once(app.recogniser(), lambda: Asking.NOTHING))
    blocks = np.split(sound.pcm, range(512, len(sound.pcm), 512))
    spoken = [over for block in blocks for over in listener.feed(block)] + listener.flush()
    return [over.recognition.result().text for over in spoken]


def test_the_same_text_as_from_the_direct_feed(tmp_path: Path) -> None:
    app = open_application(Home.find(tmp_path))
    sound = _speech()
    direct = _direct(app, sound)
    assert direct == list(SENTENCES)

    clock, inbox, opened = RealClock(), Queue[Message](), threading.Event()

    def open_microphone() -> SoundMicrophone:
        microphone = SoundMicrophone(device=MICROPHONE, latency=LATENCY_S, zeros_s=float("inf"))
        opened.set()
        return microphone

    hearing = LiveHearing(
        open_microphone,
        app.listener(at_once(app.recogniser(), lambda: Asking.NOTHING)),
        Gate(headset=True),
        inbox,
        now=clock.monotonic,
        busy=lambda: False,
    )
    worker = Worker("microphone", hearing.capture, inbox).start()
    assert opened.wait(timeout=20)
    with closing(SoundSpeaker(device=COOK, latency=LATENCY_S)) as cook:
        cook.play(sound)
        heard = [inbox.get(timeout=30) for _ in SENTENCES]
    worker.stop()
    assert [message.recognition.text for message in heard if isinstance(message, Heard)] == direct


def test_listen_hears_answers_aloud_and_ends_cleanly_when_told(tmp_path: Path) -> None:
    listening = listen_process(tmp_path)
    assert listening.stdout is not None
    try:
        ready = json.loads(listening.stdout.readline())
        assert [reply["key"] for reply in ready["replies"]] == ["ready"]
        with (
            closing(SoundMicrophone(device=WITNESS, latency=LATENCY_S, zeros_s=float("inf"))) as witness,
            closing(SoundSpeaker(device=COOK, latency=LATENCY_S)) as cook,
        ):
            quiet = np.zeros(
                SPEECH_RATE * 5 // 2, np.int16
            )  # until "Ready." is out: what it cuts is asked about
            said = espeak("new batch eighteen fifty").pcm // 2
            cook.play(Sound(np.concatenate([quiet, said, quiet]).astype(np.int16)))
            turn = json.loads(listening.stdout.readline())
            assert turn["said"] == "new batch eighteen fifty"
            assert any(np.abs(block.astype(int)).max() > 300 for block in islice(witness.blocks(), 200))
    finally:
        listening.send_signal(signal.SIGTERM)
        _, error = listening.communicate(timeout=30)
    # ALSA has its own word on underruns.
    ours = [line for line in error.splitlines() if not line.startswith("ALSA lib")]
    assert (listening.returncode, [line for line in ours if line]) == (0, [])
    with JournalReader.open(tmp_path / "journal.sqlite") as journal:
        assert [line.flour_g for line in journal.batches()] == [1850.0]

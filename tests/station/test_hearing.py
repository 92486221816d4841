"""From sound to turns: recordings step by step, live ears in threads, the mouth, and workers that die."""

import threading
from collections.abc import Callable, Iterator
from queue import Queue

import numpy as np
import pytest

from assistant.audio.gate import Gate
from assistant.batch.announcements import Tone
from assistant.errors import SoundError
from assistant.hearing import LiveEars, Recording, in_blocks
from assistant.loop import Died, Found, Heard, Lost, Message, Reply, Turn
from assistant.mouth import Mouth
from assistant.ports import SPEECH_RATE, Microphone, Pcm, Sound, Utterance
from assistant.testing_audio import ScriptedRecogniser, heard
from assistant.testing_sound import FakeMicrophone, FakeSpeaker, FakeVoice
from assistant.workers import Worker
from tests.station.stand import Stand

LOUD = np.full(SPEECH_RATE // 2, 8000, np.int16)
QUIET = np.zeros(SPEECH_RATE // 2, np.int16)


class LevelEndpointer:
    """Takes loud blocks for speech, and quiet ones for its end."""

    def __init__(self) -> None:
        self._samples = 0
        self._kept: list[Pcm] = []

    @property
    def speaking(self) -> bool:
        return bool(self._kept)

    @property
    def heard_s(self) -> float:
        return self._samples / SPEECH_RATE

    def feed(self, block: Pcm) -> list[Utterance]:
        self._samples += len(block)
        if block.any():
            self._kept.append(block)
            return []
        return self.flush()

    def flush(self) -> list[Utterance]:
        if not self._kept:
            return []
        sound = Sound(np.concatenate(self._kept))
        self._kept = []
        return [Utterance(self.heard_s - sound.seconds, self.heard_s, sound)]


def _recording(stand: Stand, script: list[str], turns: list[Turn]) -> tuple[Recording, ScriptedRecogniser]:
    recogniser = ScriptedRecogniser(script)
    ears = Recording(
        stand.station,
        stand.clock,
        LevelEndpointer(),
        recogniser,
        lambda turn, _: turns.append(turn),
        min_margin=3.0,
    )
    return ears, recogniser


def test_the_clock_follows_the_recording_and_timers_ring_at_their_time() -> None:
    stand, turns = Stand(), list[Turn]()
    ears, _ = _recording(stand, ["timer two one minute"], turns)
    in_blocks([LOUD, *[QUIET] * 140], ears)
    assert [[reply.key for reply in turn.replies] for turn in turns] == [["timer_set"], ["timer_rings"]]
    assert turns[1].at - turns[0].at == pytest.approx(60.0)
    assert stand.clock.monotonic() == pytest.approx(70.5)


def test_yes_is_listened_for_only_while_a_question_is_open() -> None:
    stand, turns = Stand(), list[Turn]()
    ears, recogniser = _recording(stand, ["new batch fifteen hundred", "water six hundred", "yes"], turns)
    in_blocks([LOUD, QUIET, LOUD, QUIET, LOUD, QUIET], ears)
    assert recogniser.asked == [False, False, True]
    assert stand.station.state.batch is not None
    assert stand.station.state.batch.water_g == 600


def test_speech_that_runs_to_the_end_of_a_recording_is_heard() -> None:
    stand, turns = Stand(), list[Turn]()
    ears, _ = _recording(stand, ["new batch fifteen hundred"], turns)
    in_blocks([QUIET, LOUD], ears)
    assert [turn.said for turn in turns] == ["new batch fifteen hundred"]


def test_our_own_voice_is_not_heard_and_what_it_cut_is_asked_about() -> None:
    stand, turns = Stand(), list[Turn]()
    ears, recogniser = _recording(stand, ["new batch fifteen hundred", "water one fifty"], turns)
    busy = iter([True] * 12)
    ears.through(Gate(tail_s=0.0), lambda: next(busy, False))
    in_blocks([LOUD, LOUD, QUIET], ears)
    # The first 12 blocks were ours; the rest of the cook's sentence touches them.
    assert len(recogniser.asked) == 1
    assert [reply.key for turn in turns for reply in turn.replies] == ["ask_unsure_amount"]


def _live(
    stand: Stand,
    microphones: Callable[[], Microphone],
    script: list[str],
    inbox: "Queue[Message]",
) -> LiveEars:
    return LiveEars(
        microphones,
        LevelEndpointer(),
        ScriptedRecogniser(script),
        Gate(),
        inbox,
        now=stand.clock.monotonic,
        busy=lambda: False,
        asking=lambda: stand.station.asking,
    )


def test_live_ears_post_what_was_heard() -> None:
    stand, inbox = Stand(), Queue[Message]()
    ears = _live(stand, lambda: FakeMicrophone(np.concatenate([LOUD, QUIET])), ["water one fifty"], inbox)
    workers = [
        Worker("recogniser", ears.recognise, inbox).start(),
        Worker("microphone", ears.capture, inbox).start(),
    ]
    message = inbox.get(timeout=5)
    for worker in workers:
        worker.stop()
    assert isinstance(message, Heard)
    assert message.recognition == heard("water one fifty")


def test_a_lost_microphone_is_told_once_and_found_again() -> None:
    stand, inbox = Stand(), Queue[Message]()
    tried: Iterator[Microphone | SoundError] = iter(
        [
            FakeMicrophone(QUIET, lost=SoundError("the microphone is gone; plug it in")),
            SoundError("no microphone"),
            FakeMicrophone(np.concatenate([LOUD, QUIET])),
        ]
    )
    waits: list[float] = []

    class Stopped(threading.Event):
        """Notes how long it was waited for, and does not wait."""

        def wait(self, timeout: float | None = None) -> bool:
            waits.append(timeout or 0.0)
            return self.is_set()

    stop = Stopped()

    def open_next() -> Microphone:
        found = next(tried, None)
        if found is None:
            stop.set()
            raise SoundError("the test is over")
        if isinstance(found, SoundError):
            raise found
        return found

    _live(stand, open_next, [], inbox).capture(stop)
    messages = [inbox.get_nowait() for _ in range(inbox.qsize())]
    assert [type(message) for message in messages[:2]] == [Lost, Found]
    assert waits[0] == 2.0


def test_a_worker_that_dies_posts_its_name_and_cause() -> None:
    inbox: Queue[Message] = Queue()

    def fail(_stop: threading.Event) -> None:
        raise ZeroDivisionError("by nothing")

    def lost(_stop: threading.Event) -> None:
        raise SoundError("the speaker is gone")

    for run in (fail, lost):
        Worker("voice", run, inbox).start().stop()
    assert [inbox.get(timeout=5), inbox.get(timeout=5)] == [
        Died("voice", "ZeroDivisionError: by nothing"),
        Died("voice", "the speaker is gone"),
    ]


def _tones() -> dict[Tone, Sound]:
    sound = Sound(np.full(100, 500, np.int16), 22_050)
    return {"taken": sound, "question": sound, "ring": sound, "ring_firm": sound}


def test_the_mouth_plays_the_tone_before_the_words() -> None:
    stand = Stand()
    voice, speaker = FakeVoice(), FakeSpeaker(stand.clock.monotonic)
    tones = _tones()
    Mouth(voice, speaker, tones).speak(
        (Reply("water_in", "One fifty in.", "taken"), Reply("left", "Three left."))
    )
    assert voice.said == ["One fifty in.", "Three left."]
    assert next(len(sound.pcm) for _, sound in speaker.played) == 100
    assert len(speaker.played) == 3


def test_a_voice_that_fails_is_told_once_and_the_tones_go_on() -> None:
    stand, told = Stand(), list[str]()
    voice, speaker = FakeVoice(), FakeSpeaker(stand.clock.monotonic)
    voice.broken = True
    mouth = Mouth(voice, speaker, _tones(), on_silent=told.append)
    mouth.speak((Reply("water_in", "One fifty in.", "taken"), Reply("left", "Three left.")))
    assert told == ["the voice gave no sound for 'One fifty in.'; try it again"]
    assert len(speaker.played) == 1

"""From sound to turns: recordings step by step, live hearing in threads, the announcer, workers that die."""

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import closing
from dataclasses import replace
from queue import Queue

import numpy as np
import pytest

from assistant.batch.record.announcements import Tone
from assistant.batch.record.commands import Command, SayAgain
from assistant.errors import SoundError
from assistant.hearing.early_decision import Patience, PatientListener, Recognise, SentenceEnds
from assistant.hearing.gate import Gate
from assistant.hearing.health import HealthReports
from assistant.hearing.listeners import LiveHearing, RecordedHearing, in_blocks
from assistant.hearing.recognising import RecogniserThread, at_once
from assistant.ports import (
    SPEECH_RATE,
    Asking,
    Microphone,
    Overtaken,
    Pcm,
    Recognition,
    Sound,
    Utterance,
    Wanted,
    always,
)
from assistant.station.messages import Found, Heard, Lost, Message, Pressed, Typed, Weighed
from assistant.station.speaking import MOST_QUEUED, Announcer, RaisedVoice
from assistant.station.station import SpokenReply
from assistant.station.workers import Worker
from assistant.testing.audio import ScriptedRecogniser
from assistant.testing.sound import FakeMicrophone, FakeSpeaker, FakeVoice
from tests.station.stand import Stand, grammar, meaning, understood

LOUD = np.full(SPEECH_RATE // 2, 8000, np.int16)
QUIET = np.zeros(SPEECH_RATE // 2, np.int16)


class LevelEndpointer:
    """Takes loud blocks for speech; it ends after `end_s` of quiet ones."""

    def __init__(self, end_s: float = 0.032) -> None:
        self._end_s = end_s
        self._samples = 0
        self._last_loud = 0
        self._kept: list[Pcm] = []

    @property
    def heard_s(self) -> float:
        return self._samples / SPEECH_RATE

    @property
    def quiet_s(self) -> float:
        return (self._samples - self._last_loud) / SPEECH_RATE if self._kept else 0.0

    def pending(self, silence_s: float) -> Utterance | None:
        return self._open() if self._kept and self.quiet_s >= silence_s else None

    def cut(self) -> None:
        self._kept = []

    def feed(self, block: Pcm) -> list[Utterance]:
        self._samples += len(block)
        if block.any():
            self._last_loud = self._samples
        if block.any() or self._kept:
            self._kept.append(block)
        return self.flush() if self._kept and self.quiet_s >= self._end_s else []

    def flush(self) -> list[Utterance]:
        if not self._kept:
            return []
        found = self._open()
        self._kept = []
        return [found]

    def _open(self) -> Utterance:
        sound = Sound(np.concatenate(self._kept))
        start = self.heard_s - sound.seconds
        return Utterance(start, self._last_loud / SPEECH_RATE, sound)


def _listener(recognise: Recognise, *, end_s: float = 0.032) -> PatientListener:
    words = grammar()
    return PatientListener(
        LevelEndpointer(end_s),
        recognise,
        SentenceEnds(words.continuations, words.parse),
        Patience(),
        act_above=0.85,
    )


def _recording(
    stand: Stand, script: list[str], *, gate: Gate | None = None, busy: Callable[[], bool] = lambda: False
) -> tuple[RecordedHearing, ScriptedRecogniser[Command]]:
    recogniser = ScriptedRecogniser[Command](script, meaning)
    listener = _listener(at_once(recogniser, lambda: stand.station.asking))
    hearing = RecordedHearing(stand.loop, stand.inbox, stand.clock, listener, gate=gate, busy=busy)
    return hearing, recogniser


def test_the_clock_follows_the_recording_and_timers_ring_at_their_time() -> None:
    stand = Stand()
    hearing, _ = _recording(stand, ["timer two one minute"])
    in_blocks([LOUD, *[QUIET] * 140], hearing)
    assert [[reply.key for reply in turn.replies] for turn in stand.turns] == [["timer_set"], ["timer_rings"]]
    assert stand.turns[1].at - stand.turns[0].at == pytest.approx(60.0)
    assert stand.clock.monotonic() == pytest.approx(70.5)


def test_yes_and_a_bare_amount_are_listened_for_only_while_they_mean_something() -> None:
    stand = Stand()
    hearing, recogniser = _recording(stand, ["new batch fifteen hundred", "water six hundred", "yes"])
    in_blocks([LOUD, QUIET, LOUD, QUIET, LOUD, QUIET], hearing)
    assert recogniser.asked == [Asking.NOTHING, Asking.AMOUNT, Asking.AMOUNT]
    assert stand.station.state.batch is not None
    assert stand.station.state.batch.water_g == 600


def test_speech_that_runs_to_the_end_of_a_recording_is_heard() -> None:
    stand = Stand()
    hearing, _ = _recording(stand, ["new batch fifteen hundred"])
    in_blocks([QUIET, LOUD], hearing)
    assert [turn.said for turn in stand.turns] == ["new batch fifteen hundred"]


def test_our_own_voice_is_not_heard_and_what_it_cut_is_asked_about() -> None:
    stand = Stand()
    busy = iter([True] * 12)
    hearing, recogniser = _recording(
        stand,
        ["new batch fifteen hundred", "water one fifty"],
        gate=Gate(tail_s=0.0),
        busy=lambda: next(busy, False),
    )
    in_blocks([LOUD, LOUD, QUIET], hearing)
    # The first 12 blocks were ours; the rest of the cook's sentence touches them.
    assert len(recogniser.asked) == 1
    assert [reply.key for turn in stand.turns for reply in turn.replies] == ["ask_unsure_amount"]


def test_messages_of_anyone_are_taken_beside_a_recording() -> None:
    stand = Stand()

    def foot_and_keyboard(now: float) -> None:
        if now > 0.25 and stand.inbox.empty() and not stand.turns:
            stand.inbox.put(Typed("new batch fifteen hundred"))
            stand.inbox.put(Pressed(SayAgain()))
            stand.inbox.put(Weighed(150.0))

    listener = _listener(at_once(ScriptedRecogniser([], meaning), lambda: Asking.NOTHING))
    hearing = RecordedHearing(stand.loop, stand.inbox, stand.clock, listener, devices=foot_and_keyboard)
    in_blocks([QUIET], hearing)
    assert [turn.replies[0].key for turn in stand.turns] == ["batch_opened", "batch_opened", "water_in"]
    assert stand.inbox.empty()


def _live(
    stand: Stand,
    microphones: Callable[[], Microphone],
    script: list[str],
    inbox: "Queue[Message]",
) -> LiveHearing:
    listener = _listener(at_once(ScriptedRecogniser[Command](script, meaning), lambda: stand.station.asking))
    return LiveHearing(microphones, listener, Gate(), inbox, now=stand.clock.monotonic, busy=lambda: False)


def test_live_hearing_posts_what_was_heard() -> None:
    stand, inbox = Stand(), Queue[Message]()
    hearing = _live(stand, lambda: FakeMicrophone(np.concatenate([LOUD, QUIET])), ["water one fifty"], inbox)
    worker = Worker("microphone", hearing.capture, inbox).start()
    message = inbox.get(timeout=5)
    worker.stop()
    assert isinstance(message, Heard)
    assert message.recognition == understood("water one fifty")


def test_a_recogniser_that_fails_is_told() -> None:
    stand, inbox = Stand(), Queue[Message]()

    def recognise(_utterance: Utterance) -> "Future[Recognition[Command]]":
        failed: Future[Recognition[Command]] = Future()
        failed.set_exception(MemoryError("no room"))
        return failed

    microphone = FakeMicrophone(np.concatenate([LOUD, QUIET]))
    hearing = LiveHearing(
        lambda: microphone, _listener(recognise), Gate(), inbox, now=stand.clock.monotonic, busy=lambda: False
    )
    worker = Worker("microphone", hearing.capture, inbox).start()
    message = inbox.get(timeout=5)
    worker.stop()
    assert message == Lost("recogniser", "MemoryError: no room")


BLOCK = 1600
TENTH = np.zeros(BLOCK, np.int16)
SPEECH = np.full(BLOCK, 8000, np.int16)


def _quiet_until_decided(sentence: str, *, margin: float = 20.0) -> int | None:
    """Tenths of a second of quiet after which a sentence is decided on, before the endpointer's own 0.8 s."""
    recogniser = ScriptedRecogniser([understood(sentence, margin=margin)] * 9, meaning)
    listener = _listener(at_once(recogniser, lambda: Asking.NOTHING), end_s=0.8)
    assert listener.feed(SPEECH) == []
    for tenths in range(1, 8):
        if listener.feed(TENTH):
            return tenths
    assert len(listener.feed(TENTH)) == 1
    return None


@pytest.mark.parametrize(
    ("sentence", "tenths"),
    [
        ("undo", 2),
        ("poured the rest", 2),
        ("water one fifty", 4),
        ("mix", 4),
        ("water one fifty grams", 2),
        ("water", None),
        ("new batch", None),
    ],
)
def test_what_can_not_go_on_is_answered_sooner(sentence: str, tenths: int | None) -> None:
    assert _quiet_until_decided(sentence) == tenths


def test_what_is_not_surely_heard_is_waited_for() -> None:
    assert _quiet_until_decided("undo", margin=1.0) is None


def test_speech_that_goes_on_throws_the_early_look_away() -> None:
    recogniser = ScriptedRecogniser[Command](["water one", "water one fifty"], meaning)
    listener = _listener(at_once(recogniser, lambda: Asking.NOTHING), end_s=0.8)
    for block in (SPEECH, TENTH, TENTH, TENTH, SPEECH, TENTH, TENTH, TENTH):
        assert listener.feed(block) == []
    [over] = listener.feed(TENTH)
    assert over.recognition.result().text == "water one fifty"
    assert over.utterance.end == pytest.approx(0.5)


def test_what_was_looked_at_early_is_not_recognised_again() -> None:
    recogniser = ScriptedRecogniser[Command](["water"], meaning)
    listener = _listener(at_once(recogniser, lambda: Asking.NOTHING), end_s=0.4)
    spoken = [over for block in (SPEECH, TENTH, TENTH, TENTH, TENTH) for over in listener.feed(block)]
    assert [over.recognition.result().text for over in spoken] == ["water"]
    assert len(recogniser.asked) == 1


class Working:
    """Recognises step by step: it begins, goes on when told to, and asks whether the result is wanted."""

    name = "working"

    def __init__(self) -> None:
        self.begun: Queue[int] = Queue()
        """Samples of each sound that it began with."""
        self.go_on: Queue[None] = Queue()
        self.left: list[int] = []
        """Samples of each sound that it left."""

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[Command]:
        self.begun.put(len(sound.pcm))
        self.go_on.get(timeout=5)
        if not wanted():
            self.left.append(len(sound.pcm))
            raise Overtaken
        return replace(understood("water one fifty"), asking=asking)


def test_an_early_look_that_is_overtaken_holds_up_nothing() -> None:
    """Speech goes on twice while the first pause is worked on: that look is left, the second never begun."""
    recogniser = Working()
    with closing(RecogniserThread(recogniser, lambda: Asking.NOTHING)) as recognise:
        listener = _listener(recognise, end_s=0.8)
        for block in (SPEECH, TENTH, TENTH):
            listener.feed(block)
        assert recogniser.begun.get(timeout=5) == 3 * BLOCK
        for block in (SPEECH, TENTH, TENTH, SPEECH):
            listener.feed(block)
        [spoken] = listener.flush()
        for _ in range(2):
            recogniser.go_on.put(None)
        assert spoken.recognition.result(timeout=5) == understood("water one fifty")
    assert recogniser.left == [3 * BLOCK]
    assert recogniser.begun.get(timeout=5) == len(spoken.utterance.sound.pcm) == 7 * BLOCK
    assert recogniser.begun.empty()


def test_what_breaks_in_the_pool_is_told() -> None:
    class Broken(Working):
        def recognise(
            self,
            sound: Sound,  # noqa: ARG002
            *,
            asking: Asking = Asking.NOTHING,  # noqa: ARG002
            wanted: Wanted = always,  # noqa: ARG002
        ) -> Recognition[Command]:
            raise MemoryError("no room")

    with closing(RecogniserThread(Broken(), lambda: Asking.NOTHING)) as recognise:
        assert isinstance(recognise(Utterance(0, 1, Sound(LOUD))).exception(timeout=5), MemoryError)


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


def test_whatever_breaks_in_the_ear_is_told_once_and_it_hears_on() -> None:
    """A driver may raise anything: an error of PortAudio is neither a SoundError nor an OSError."""
    stand, inbox = Stand(), Queue[Message]()

    class PortAudioError(Exception):
        pass

    class Torn(FakeMicrophone):
        def blocks(self) -> Iterator[Pcm]:
            raise PortAudioError("Unanticipated host error")

    speech = FakeMicrophone(np.concatenate([LOUD, QUIET]))
    tried: Iterator[Microphone] = iter([Torn(QUIET), Torn(QUIET), speech])
    stop = threading.Event()
    waits: list[float] = []

    class Counted(threading.Event):
        def wait(self, timeout: float | None = None) -> bool:
            waits.append(timeout or 0.0)
            return self.is_set()

    stop = Counted()

    def open_next() -> Microphone:
        found = next(tried, None)
        if found is None:
            stop.set()
            raise PortAudioError("the test is over")
        return found

    _live(stand, open_next, ["water one fifty"], inbox).capture(stop)
    messages = [inbox.get_nowait() for _ in range(inbox.qsize())]
    assert messages[0] == Lost("microphone", "PortAudioError: Unanticipated host error")
    assert [type(one) for one in messages] == [Lost, Found, Heard, Lost]
    assert waits[0] == 2.0, "the second loss in a row waits"


def test_an_early_look_that_fails_leaves_the_ear_alive() -> None:
    """It is told with its utterance, and the next one is heard."""
    stand, inbox = Stand(), Queue[Message]()
    answers: list[Future[Recognition[Command]]] = [Future(), Future()]
    answers[0].set_exception(MemoryError("no room"))
    answers[1].set_result(understood("undo"))
    script = iter(answers)
    listener = _listener(lambda _utterance: next(script), end_s=0.6)
    sound = np.concatenate([SPEECH, np.zeros(SPEECH_RATE, np.int16), SPEECH, np.zeros(SPEECH_RATE, np.int16)])
    hearing = LiveHearing(
        lambda: FakeMicrophone(sound),
        listener,
        Gate(),
        inbox,
        now=stand.clock.monotonic,
        busy=lambda: False,
    )
    assert sum(1 for _ in hearing._take(FakeMicrophone(sound, block=BLOCK), threading.Event()))
    messages = [inbox.get_nowait() for _ in range(inbox.qsize())]
    assert [type(one) for one in messages] == [Lost, Found, Heard]
    assert messages[0] == Lost("recogniser", "MemoryError: no room")


def _tones() -> dict[Tone, Sound]:
    sound = Sound(np.full(100, 500, np.int16), 22_050)
    return {"taken": sound, "question": sound, "ring": sound, "ring_firm": sound}


def test_the_announcer_plays_the_tone_before_the_words() -> None:
    stand = Stand()
    voice, speaker = FakeVoice(), FakeSpeaker(stand.clock.monotonic)
    tones = _tones()
    Announcer(voice, speaker, tones).speak(
        (SpokenReply("water_in", "One fifty in.", "taken"), SpokenReply("left", "Three left."))
    )
    assert voice.said == ["One fifty in.", "Three left."]
    assert next(len(sound.pcm) for _, sound in speaker.played) == 100
    assert len(speaker.played) == 3


def test_a_voice_that_fails_is_told_once_and_the_tones_go_on() -> None:
    stand, told = Stand(), list[str]()
    voice, speaker = FakeVoice(), FakeSpeaker(stand.clock.monotonic)
    voice.broken = True
    announcer = Announcer(voice, speaker, _tones(), on_silent=told.append)
    announcer.speak((SpokenReply("water_in", "One fifty in.", "taken"), SpokenReply("left", "Three left.")))
    assert told == ["the voice gave no sound for 'One fifty in.'; try it again"]
    assert len(speaker.played) == 1


class HungVoice(FakeVoice):
    """Hangs at its first sentence, as in C, until the test lets it go."""

    def __init__(self) -> None:
        super().__init__()
        self.go_on = threading.Event()

    def speak(self, text: str) -> Sound:
        if not self.go_on.is_set():
            assert self.go_on.wait(5)
        return super().speak(text)


def test_a_voice_that_hangs_holds_up_no_tone_and_says_what_it_owes_when_it_is_back() -> None:
    stand, told, back = Stand(), list[str](), list[None]()
    voice, speaker = HungVoice(), FakeSpeaker(stand.clock.monotonic)
    announcer = Announcer(
        voice,
        speaker,
        _tones(),
        on_silent=told.append,
        on_voice=lambda: back.append(None),
        patience_s=0.0,
    )
    rings = [SpokenReply("timer_rings", f"Timer {number}.", "ring") for number in range(6)]
    for reply in rings:
        announcer.speak((reply,))
    assert [len(sound.pcm) for _, sound in speaker.played] == [100] * 6, "each ring at once"
    assert told == ["the voice does not answer for 0 s; tones go on without it"]
    hung = announcer._hangs
    assert hung is not None
    voice.go_on.set()
    hung.result(5)
    announcer._patience_s = 5.0
    announcer.speak((SpokenReply("left", "Three left."),))
    assert voice.said == ["Timer 0.", "Timer 3.", "Timer 4.", "Timer 5.", "Three left."]
    assert len(speaker.played) == 6 + 4
    assert back == [None]


def test_of_too_many_turns_that_wait_those_without_a_ring_are_left_out() -> None:
    stand = Stand()
    speaker = FakeSpeaker(stand.clock.monotonic)
    announcer = Announcer(FakeVoice(), speaker, _tones())
    ring = (SpokenReply("timer_rings", "Timer one.", "ring"),)
    announcer.say(ring)
    for number in range(MOST_QUEUED + 5):
        announcer.say((SpokenReply("left", f"{number} left."),))
    waiting = list(announcer._waiting.queue)
    assert len(waiting) == MOST_QUEUED
    assert waiting[0] == ring
    assert waiting[-1][0].text == f"{MOST_QUEUED + 4} left."


def test_louder_and_slower_are_heard_in_the_next_words() -> None:
    stand = Stand()
    voice, speaker = FakeVoice(rate=160), FakeSpeaker(stand.clock.monotonic)
    announcer = Announcer(voice, speaker, _tones())
    announcer.adjust(1, -1)
    assert speaker.volume == pytest.approx(1.3)
    assert voice.rate == 140
    announcer.adjust(0, 0)
    assert (speaker.volume, voice.rate) == (1.0, 160)


def test_what_is_said_often_is_made_ahead_while_nothing_is_said() -> None:
    stand = Stand()
    stop = threading.Event()

    class LastWords(FakeVoice):
        """Ends the worker with its second sentence."""

        def speak(self, text: str) -> Sound:
            if len(self.said) == 1:
                stop.set()
            return super().speak(text)

    voice = LastWords()
    Announcer(voice, FakeSpeaker(stand.clock.monotonic), _tones(), often=["On target.", "Good."]).run(stop)
    assert voice.said == ["On target.", "Good."]


def test_the_voice_speaks_up_with_the_room_within_its_limit() -> None:
    stand = Stand()
    raised, speaker = RaisedVoice(6.0), FakeSpeaker(stand.clock.monotonic)
    assert raised.lift_db(None) == 0.0
    assert [raised.lift_db(noise) for noise in (-60.0, -52.0, -30.0, -70.0, -64.0)] == [
        0.0,
        4.0,
        6.0,
        0.0,
        3.0,
    ]
    Announcer(FakeVoice(), speaker, _tones()).adjust(0, 0, 6.0)
    assert speaker.volume == pytest.approx(10**0.3)


def test_the_level_of_the_room_is_known_once_it_was_heard() -> None:
    care = HealthReports()
    assert care.noise_dbfs is None
    care.block(np.zeros(1600, np.int16))
    assert care.noise_dbfs is None
    care.block(np.full(1600, 328, np.int16))
    assert care.noise_dbfs == pytest.approx(-40.0, abs=0.5)

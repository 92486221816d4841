"""The worker that owns the engine, against an engine with all of pyttsx3's bad habits."""

import shutil
import threading
from collections import namedtuple
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from assistant.errors import VoiceError
from assistant.tts.engine import VoiceWorker
from tests.tts.fake_engine import FakeEngine

SHORT_S = 0.02
"""Waited for only where the engine returns nothing."""


@contextmanager
def working(engine: FakeEngine, folder: Path | None = None) -> Iterator[VoiceWorker]:
    worker = VoiceWorker(lambda: engine, folder)
    try:
        yield worker
    finally:
        worker.close()


def samples(
    worker: VoiceWorker, text: str = "hello", *, voice: str = "en", timeout_s: float = SHORT_S
) -> int:
    return len(worker.make(text, voice=voice, rate=160, timeout_s=timeout_s).pcm)


def test_a_text_becomes_sound_with_voice_and_rate_set() -> None:
    engine = FakeEngine()
    with working(engine) as worker:
        sound = worker.make("hello", voice="en-us", rate=120, timeout_s=1)
    assert (len(sound.pcm), sound.rate) == (500, 22_050)
    assert engine.properties == {"voice": "en-us", "rate": 120}


def test_every_utterance_has_its_own_rate_though_the_engine_loses_what_is_set_in_a_hurry() -> None:
    engine = FakeEngine()
    with working(engine) as worker:
        for rate in (120, 120, 160, 90):
            worker.make("hello", voice="en", rate=rate, timeout_s=1)
    assert engine.rates[1:] == [120, 120, 160, 90]


def test_a_rate_that_never_takes_hold_is_one_line() -> None:
    engine = FakeEngine()
    engine.rate = lambda: 200  # type: ignore[method-assign]
    with working(engine) as worker, pytest.raises(VoiceError) as refusal:
        samples(worker)
    assert str(refusal.value) == "the voice stays at 200 words a minute instead of 160; try again"


@pytest.mark.parametrize("habit", ["empty", "zeros", "damaged", "nothing"])
def test_a_run_without_sound_is_tried_again(habit: str) -> None:
    with working(FakeEngine(habit, habit)) as worker:
        assert samples(worker) == 500


def test_after_three_runs_without_sound_it_says_so() -> None:
    with working(FakeEngine("empty", "zeros", "damaged")) as worker:
        with pytest.raises(VoiceError) as refusal:
            samples(worker)
        assert (
            str(refusal.value)
            == "the voice gave no sound for 'hello' in 3 tries; say it with letters or digits"
        )
        assert samples(worker) == 500, "the next text must be said"


def test_a_run_that_does_not_end_is_ended() -> None:
    with working(FakeEngine("hangs")) as worker:
        assert samples(worker) == 500


def test_an_engine_that_never_ends_a_run_gives_an_error_in_the_end() -> None:
    engine = FakeEngine(*["hangs"] * 3)
    with working(engine) as worker, pytest.raises(VoiceError):
        samples(worker)


def test_an_utterance_that_is_late_is_waited_for_or_nothing_is_said(tmp_path: Path) -> None:
    """pyttsx3 would write it into the path given next: the cook would hear the weight before."""
    engine = FakeEngine("late")
    with working(engine, tmp_path) as worker:
        with pytest.raises(VoiceError) as refusal:
            samples(worker, "a longer text")
        assert str(refusal.value) == "the voice doesn't answer; start the program again if it stays silent"
        with pytest.raises(VoiceError):
            samples(worker, "short")
        engine.finish_late()
        assert samples(worker, "short") == 500
    assert list(tmp_path.iterdir()) == []


def test_who_comes_behind_a_run_that_never_ends_hears_of_it_too() -> None:
    engine = FakeEngine()
    engine.let_go = lambda: None  # type: ignore[method-assign]
    engine.habits = ["good", "hangs"]
    worker = VoiceWorker(lambda: engine)
    refusals: list[str] = []

    def speak() -> None:
        with pytest.raises(VoiceError) as refusal:
            samples(worker)
        refusals.append(str(refusal.value))

    threads = [threading.Thread(target=speak) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(5)
    assert refusals == ["the voice doesn't answer; start the program again if it stays silent"] * 2
    FakeEngine.let_go(engine)
    worker.close()


def test_files_are_gone_and_every_one_had_a_path_of_its_own(tmp_path: Path) -> None:
    engine = FakeEngine("empty")
    with working(engine, tmp_path / "voice") as worker:
        samples(worker)
        samples(worker)
    assert len(set(engine.paths)) == len(engine.paths) == 4
    assert list((tmp_path / "voice").iterdir()) == []


def test_files_live_in_memory_where_there_is_a_place_for_it() -> None:
    engine = FakeEngine()
    with working(engine) as worker:
        samples(worker)
    assert Path("/dev/shm") in Path(engine.paths[0]).parents or not Path("/dev/shm").is_dir()


def test_a_folder_that_was_cleaned_away_is_made_again(tmp_path: Path) -> None:
    with working(FakeEngine(), tmp_path / "voice") as worker:
        samples(worker)
        shutil.rmtree(tmp_path / "voice")
        assert samples(worker) == 500


def test_no_room_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: usage(64 << 20, 60 << 20, 4 << 20))
    with working(FakeEngine(), tmp_path) as worker, pytest.raises(VoiceError) as refusal:
        samples(worker)
    assert str(refusal.value) == f"the voice has no room to work in {tmp_path}; free 16 MB there"


def test_a_missing_synthesiser_is_one_line_each_time() -> None:
    def make() -> FakeEngine:
        raise RuntimeError("This means you probably do not have eSpeak or eSpeak-ng installed!\nmore")

    worker = VoiceWorker(make)
    for _ in range(2):
        with pytest.raises(VoiceError) as refusal:
            samples(worker)
        assert str(refusal.value) == (
            "the voice can't start: This means you probably do not have eSpeak or eSpeak-ng installed!; "
            "install it with `apt install espeak-ng`"
        )
    worker.close()


def test_an_unknown_voice_is_one_line_and_the_next_is_heard() -> None:
    with working(FakeEngine()) as worker:
        with pytest.raises(VoiceError) as refusal:
            samples(worker, voice="nonsense")
        assert (
            str(refusal.value)
            == "the voice knows no voice 'nonsense'; `espeak-ng --voices=en` lists its voices"
        )
        assert samples(worker) == 500


def test_a_surprise_inside_reaches_whoever_waits_and_stops_nothing() -> None:
    engine = FakeEngine()
    with working(engine) as worker:
        samples(worker)
        engine.habits = ["good"]
        engine.paths = None  # type: ignore[assignment]
        with pytest.raises(VoiceError, match="the voice can't say 'hello': 'NoneType'"):
            samples(worker)
        engine.paths = []
        assert samples(worker) == 500


def test_many_threads_get_each_their_own_text_from_one_engine_in_one_thread() -> None:
    engine = FakeEngine("empty")
    made: dict[int, int] = {}

    with working(engine) as worker:

        def speak(length: int) -> None:
            made[length] = samples(worker, "x" * length, timeout_s=5)

        threads = [threading.Thread(target=speak, args=(length,)) for length in range(1, 9)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(5)
    assert made == {length: 100 * length for length in range(1, 9)}
    assert len(engine.threads) == 1
    assert threading.get_ident() not in engine.threads

"""The real synthesiser: espeak-ng through pyttsx3."""

import ctypes.util
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import VoiceError
from assistant.ports import Sound
from assistant.testing.sound import check_voice, hum
from assistant.tts.engine import VoiceWorker
from assistant.tts.espeak import EspeakVoice, trim
from tests.tts.fake_engine import FakeEngine

needs_espeak = pytest.mark.skipif(
    ctypes.util.find_library("espeak-ng") is None, reason="espeak-ng isn't installed (libespeak-ng1)"
)


def with_quiet(before_s: float, after_s: float) -> Sound:
    rate = 22_050
    quiet = [np.zeros(round(seconds * rate), np.int16) for seconds in (before_s, after_s)]
    return Sound(np.concatenate([quiet[0], hum(0.5, rate).pcm, quiet[1]]), rate)


@needs_espeak
def test_it_keeps_the_contract() -> None:
    check_voice(EspeakVoice())


@needs_espeak
def test_slower_is_longer_and_faster_shorter_at_run_time() -> None:
    voice = EspeakVoice(rate=160)
    plain = voice.speak("Three fifteen left.").seconds
    voice.rate = 110
    assert voice.speak("Three fifteen left.").seconds > 1.2 * plain
    voice.rate = 240
    assert voice.speak("Three fifteen left.").seconds < 0.85 * plain


@needs_espeak
def test_the_first_words_of_a_process_have_the_rate_already() -> None:
    """espeak-ng's own is 200 there; the race lost it in one process of ten."""
    script = (
        "from assistant.tts.espeak import EspeakVoice; voice = EspeakVoice(rate=100); "
        "print(*(voice.speak('Taken.').seconds for _ in range(2)))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=30, check=True
    )
    first, second = map(float, ran.stdout.split())
    assert first == pytest.approx(second, rel=0.03)


@needs_espeak
def test_it_says_as_much_as_the_program_espeak_ng_does() -> None:
    """Reference: espeak-ng's own command line, the same voice and rate."""
    text = "One fifty in. Three fifteen left."
    wav = subprocess.run(
        ["espeak-ng", "-v", "en", "-s", "160", "--stdout", text], check=True, capture_output=True, timeout=10
    ).stdout
    pcm = np.frombuffer(wav[44 : 44 + (len(wav) - 44) // 2 * 2], "<i2").astype(np.int16)
    assert EspeakVoice().speak(text).seconds == pytest.approx(trim(Sound(pcm, 22_050)).seconds, rel=0.03)


@needs_espeak
@pytest.mark.parametrize(
    "text", ["One\tfifty\x00 in.\n", "<b>one</b> [[two]] & three", "Crème brûlée 50 %", "50"]
)
def test_odd_letters_do_no_harm(text: str) -> None:
    assert EspeakVoice().speak(text).seconds > 0.2


@needs_espeak
def test_an_unknown_voice_is_one_line() -> None:
    with pytest.raises(VoiceError) as refusal:
        EspeakVoice(voice="nonsense").speak("hello")
    assert (
        str(refusal.value) == "the voice knows no voice 'nonsense'; `espeak-ng --voices=en` lists its voices"
    )


@needs_espeak
def test_nothing_is_printed_and_nothing_stays_behind() -> None:
    """In a process of its own: pyttsx3 prints where it saved, and the folder must end with the process."""
    memory = Path("/dev/shm")
    script = (
        "from assistant.tts.espeak import EspeakVoice, process_worker\n"
        "EspeakVoice().speak('hello'); EspeakVoice(voice='en-us').speak('hello')\n"
        "import sys; sys.stderr.write(str(process_worker()._folder))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=30, check=True
    )
    assert ran.stdout == ""
    folder = Path(ran.stderr)
    assert folder.name.startswith("crumbcall-")
    assert folder.parent == memory or not memory.is_dir()
    assert not folder.exists()


@pytest.mark.parametrize(("rate", "line"), [(20, "20"), (900, "900")])
def test_a_rate_out_of_range_is_one_line(rate: int, line: str) -> None:
    with pytest.raises(VoiceError) as refusal:
        EspeakVoice(rate=rate)
    assert str(refusal.value) == f"{line} words a minute is not between 80 and 400; 160 is plain speech"


def test_a_text_that_is_too_long_is_one_line() -> None:
    with pytest.raises(VoiceError) as refusal:
        EspeakVoice().speak("x" * 1_001)
    assert str(refusal.value) == "the text to say has 1001 characters, 1000 are allowed; split it"


def test_control_characters_are_not_passed_on() -> None:
    engine = FakeEngine()
    worker = VoiceWorker(lambda: engine)
    assert EspeakVoice(worker=worker).speak("a\x00\x1b b\n\nc ").seconds == pytest.approx(500 / 22_050)
    worker.close()


@pytest.mark.parametrize(("before", "after"), [(0.0, 0.0), (0.05, 0.4), (1.0, 0.0), (0.002, 0.01)])
def test_silence_before_and_after_is_trimmed(before: float, after: float) -> None:
    sound = trim(with_quiet(before, after))
    assert sound.seconds == pytest.approx(0.5 + min(before, 0.005) + min(after, 0.03), abs=0.001)


def test_silence_inside_stays() -> None:
    pcm = np.concatenate([hum(0.1).pcm, np.zeros(8_000, np.int16), hum(0.1).pcm])
    assert trim(Sound(pcm)).seconds == pytest.approx(0.7, abs=0.001)

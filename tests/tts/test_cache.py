"""What was said before is not made again."""

import pytest

from assistant.errors import VoiceError
from assistant.testing.sound import FakeVoice, check_voice
from assistant.tts.cache import CachedVoice


def test_it_and_the_fake_keep_the_contract() -> None:
    check_voice(FakeVoice())
    check_voice(CachedVoice(FakeVoice()))


def test_the_second_time_nothing_is_made() -> None:
    inner = FakeVoice()
    voice = CachedVoice(inner)
    assert voice.speak("Taken.") is voice.speak("Taken.")
    assert inner.said == ["Taken."]


def test_another_rate_or_voice_is_another_sound() -> None:
    inner = FakeVoice()
    voice = CachedVoice(inner)
    plain = voice.speak("Taken.")
    voice.rate = 80
    assert voice.speak("Taken.").seconds == pytest.approx(2 * plain.seconds, rel=0.01)
    voice.voice = "other"
    voice.speak("Taken.")
    assert (inner.rate, inner.voice, len(inner.said)) == (80, "other", 3)
    voice.rate, voice.voice = 160, "fake"
    assert voice.speak("Taken.") is plain


def test_the_least_recently_spoken_is_forgotten_first() -> None:
    inner = FakeVoice()
    size = FakeVoice().speak("aaaa").pcm.nbytes
    voice = CachedVoice(inner, max_bytes=2 * size)
    for text in ("aaaa", "bbbb", "aaaa", "cccc", "aaaa", "bbbb"):
        voice.speak(text)
        assert voice._bytes <= 2 * size
    assert inner.said == ["aaaa", "bbbb", "cccc", "bbbb"]


def test_what_is_larger_than_the_cache_is_spoken_and_not_kept() -> None:
    voice = CachedVoice(FakeVoice(), max_bytes=10)
    assert voice.speak("Taken.").seconds > 0
    assert voice._bytes == 0


def test_a_failure_is_not_remembered() -> None:
    inner = FakeVoice()
    voice = CachedVoice(inner)
    inner.broken = True
    with pytest.raises(VoiceError):
        voice.speak("Taken.")
    inner.broken = False
    assert voice.speak("Taken.").seconds > 0


def test_what_is_remembered_cannot_be_spoilt() -> None:
    with pytest.raises(ValueError, match="read-only"):
        CachedVoice(FakeVoice()).speak("Taken.").pcm[0] = 1


def test_closing_forgets() -> None:
    voice = CachedVoice(FakeVoice())
    voice.speak("Taken.")
    voice.close()
    assert voice._bytes == 0

"""The adapters of this machine: clocks, sound devices, voices, pins, scale chips.

What stands for a port is built in this package and nowhere else (`tests/test_composition.py`). Libraries that
open a device are imported when one is opened.
"""

import uuid
from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, get_args

from assistant.audio.apart.microphone_apart import MicrophoneApart
from assistant.audio.apart.sound_process import start_microphone, start_speaker
from assistant.audio.apart.speaker_apart import SpeakerApart
from assistant.audio.lasting_speaker import LastingSpeaker
from assistant.audio.recorder import FileSpeaker
from assistant.batch.record.announcements import Tone
from assistant.clock import RTC, RealClock, ScriptedClock
from assistant.config.settings import Settings
from assistant.devices.foot_switch import Switch
from assistant.devices.pedals import PinSwitch, UsbPedal, find_pedal
from assistant.ports import Clock, Endpointer, ScaleReader, Sound, Voice
from assistant.station.clocks.told_clock import ToldClock
from assistant.tts.cache import CachedVoice
from assistant.tts.espeak import EspeakVoice
from assistant.tts.voice_apart import VoiceApart

if TYPE_CHECKING:
    from assistant.asr.letter_to_sound import Guesses

Chip = Literal["nau7802", "hx711"]
"""A converter behind the jug's load cell."""


# --- time


def real_clock(settings: Settings | None = None) -> RealClock:
    """The clock of this machine; a battery-kept one is trusted where the settings say so."""
    trusts_battery = settings is not None and settings.station.battery_clock
    return RealClock(rtc=RTC if trusts_battery else None)


def told_clock(clock: Clock) -> ToldClock:
    """The clock as one that a cook may tell the time, where nothing sets it."""
    return clock if isinstance(clock, ToldClock) else ToldClock(clock)


def scripted_clock(*, trusted: bool = False) -> ScriptedClock:
    """A clock that is moved by the program, in a boot of its own; its wall clock begins at the machine's."""
    return ScriptedClock(wall=RealClock().wall(), boot=f"scripted-{uuid.uuid4()}", trusted=trusted)


# --- sound


def open_microphone(settings: Settings, device: str | None = None) -> MicrophoneApart:
    """The microphone with `device` in its name, else that of the settings. Raises SoundError."""
    return MicrophoneApart(lambda: start_microphone(device=device or settings.microphone.device))


def open_speaker(settings: Settings, device: str | None = None) -> SpeakerApart:
    """The speaker with `device` in its name, else that of the settings; at their volume. SoundError."""
    return SpeakerApart(
        lambda: start_speaker(device=device or settings.speaker.device, latency=settings.speaker.latency_s),
        volume=settings.voice.volume,
    )


def lasting_speaker(
    settings: Settings, on_lost: Callable[[str], None], on_found: Callable[[], None]
) -> LastingSpeaker:
    """The speaker of the settings, whenever it is there."""
    return LastingSpeaker(
        lambda: open_speaker(settings), volume=settings.voice.volume, on_lost=on_lost, on_found=on_found
    )


def recording_speaker(clock: Clock) -> FileSpeaker:
    """A speaker that plays into a recording, on this clock."""
    return FileSpeaker(clock.monotonic)


def endpointer(settings: Settings) -> Endpointer:
    """Finds where somebody speaks."""
    from assistant.hearing.endpointing import Endpointing, SpeechEndpointer

    return SpeechEndpointer(Endpointing(end_silence_s=settings.microphone.end_silence_s))


def voice(name: str, rate: int) -> EspeakVoice:
    """A voice by its espeak-ng name; `rate` in words a minute."""
    return EspeakVoice(voice=name, rate=rate)


def letter_to_sound() -> "Guesses":
    """Guesses how a word sounds that has no pronunciation, by all that this machine has for it."""
    from assistant.asr.letter_to_sound import EspeakRules, Guesses, LibraryRules, run_espeak

    return Guesses(LibraryRules(), EspeakRules(run_espeak))


def station_voice(settings: Settings) -> Voice:
    """The station's voice; what it says often is made once."""
    return CachedVoice(voice(settings.voice_name, settings.voice.rate))


def lasting_voice(settings: Settings) -> Voice:
    """The same in a process of its own, for a station that runs for days."""
    return CachedVoice(VoiceApart(voice=settings.voice_name, rate=settings.voice.rate))


def tones() -> dict[Tone, Sound]:
    """The sound of every tone."""
    from assistant.audio.tones import tone

    return {name: tone(name) for name in get_args(Tone)}


# --- what is wired


def open_switch(settings: Settings) -> Switch:
    """The foot switch of the settings: the USB pedal, else the one on a pin. Raises DeviceError."""
    if settings.foot_switch.device:
        return UsbPedal(find_pedal(settings.foot_switch.device))
    return PinSwitch(settings.pins.foot_switch)


def open_reader(chip: Chip, rate: int) -> ScaleReader:
    """The reader of a scale's chip; `rate` in samples a second. Raises DeviceError."""
    if chip == "nau7802":
        from assistant.devices.scale.i2c import I2cFile
        from assistant.devices.scale.nau7802 import ADDRESS, Nau7802

        return Nau7802(I2cFile(ADDRESS), rate)
    from assistant.devices.scale.hx711 import Hx711, SpiPort

    return Hx711(SpiPort())

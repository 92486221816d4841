"""The process of one sound device: `python -m assistant.audio.apart.sound_process CHANNEL WHICH OPTIONS`.

PortAudio's list of devices is frozen when it starts, and its close may never return (its ALSA part has an
endless loop where a device was pulled): a process of its own sees what is plugged in, and is ended from
outside.
"""

import json
import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from queue import Queue
from typing import Any

import numpy as np

from assistant.apart import Apart, Channel, inside
from assistant.audio.capture import SoundMicrophone
from assistant.audio.playback import SoundSpeaker
from assistant.errors import ApartError, SoundError, one_line
from assistant.ports import Sound

_MODULE = "assistant.audio.apart.sound_process"
BEAT_S = 1.0
"""A speaker's process gives a sign of life this often (s)."""


def start_microphone(**options: Any) -> Apart:
    """A process that opens a `SoundMicrophone` with these options."""
    return Apart(_MODULE, "microphone", json.dumps(options), name="microphone")


def start_speaker(**options: Any) -> Apart:
    """A process that opens a `SoundSpeaker` with these options."""
    return Apart(_MODULE, "speaker", json.dumps(options), name="speaker")


def serve_microphone(channel: Channel, open_microphone: Callable[[], SoundMicrophone]) -> None:
    """Send the device's name, then its blocks as bytes, and the SoundError with which it is lost."""
    with _telling(channel):
        microphone = open_microphone()
        channel.send(microphone.name)
        for block in microphone.blocks():
            channel.send(block.tobytes())


def serve_speaker(channel: Channel, open_speaker: Callable[[Callable[[], None]], SoundSpeaker]) -> None:
    """Send the device's name and latency (s), then play what comes.

    A request is (bytes, rate, volume), or None to fall silent. Answers: how many were played when it fell
    silent; None as a sign of life; the SoundError with which it is lost.
    """
    fell_silent: Queue[None] = Queue()
    with _telling(channel):
        speaker = open_speaker(lambda: fell_silent.put(None))
        channel.send((speaker.name, speaker.latency_s))
        playing = _Playing(channel, speaker)

        def tell() -> None:
            with suppress(ApartError):
                while True:
                    fell_silent.get()
                    playing.tell_if_silent()

        threading.Thread(target=tell, daemon=True).start()
        while True:
            if channel.ready(BEAT_S):
                playing.take(channel.receive(0.0))
            if speaker.lost:
                raise gone(speaker)
            channel.send(None)


class _Playing:
    """What is played, counted: that it fell silent is told with how much was played by then."""

    def __init__(self, channel: Channel, speaker: SoundSpeaker) -> None:
        self._channel = channel
        self._speaker = speaker
        self._played = 0
        self._lock = threading.Lock()

    def take(self, request: tuple[bytes, int, float] | None) -> None:
        if request is None:
            self._speaker.stop()
            return
        raw, rate, volume = request
        with self._lock:
            self._speaker.volume = volume
            self._speaker.play(Sound(np.frombuffer(raw, np.int16), rate))
            self._played += 1
        self.tell_if_silent()

    def tell_if_silent(self) -> None:
        with self._lock:
            if self._speaker.lost:
                self._channel.send(gone(self._speaker))
            elif not self._speaker.busy:
                self._channel.send(self._played)


def gone(speaker: SoundSpeaker) -> SoundError:
    """What is told of a speaker that was lost."""
    return SoundError(f"the speaker '{speaker.name}' is gone; plug it in again, the timers go on")


@contextmanager
def _telling(channel: Channel) -> Iterator[None]:
    """Whatever goes wrong inside is sent as a SoundError, in one line, if the other end is there."""
    try:
        yield
    except Exception as error:
        told = error if isinstance(error, SoundError) else SoundError(one_line(error))
        with suppress(ApartError):
            channel.send(told)


if __name__ == "__main__":
    _channel, _options = inside(sys.argv[1]), json.loads(sys.argv[3])
    if sys.argv[2] == "microphone":
        serve_microphone(_channel, lambda: SoundMicrophone(**_options))
    else:
        serve_speaker(_channel, lambda finished: SoundSpeaker(on_finished=finished, **_options))
    os._exit(0)  # the system lets the device go; PortAudio might not

"""Microphone and speaker, as `crumbcall check` finds them, and the way from the one to the other."""

from collections.abc import Callable, Iterator
from contextlib import closing
from math import ceil
from time import perf_counter

import numpy as np

from assistant.app.adapters import open_microphone, open_speaker, tones
from assistant.app.application import Application
from assistant.errors import SoundError
from assistant.ports import SPEECH_RATE, Pcm


def microphone(app: Application) -> str:
    """Whether the microphone sends sound, and how loud the room is."""
    from assistant.hearing.level import SILENCE_DBFS, level_dbfs

    opened = open_microphone(app.settings)
    try:
        blocks = opened.blocks()
        level = max(level_dbfs(next(blocks)) for _ in range(30))
        if level <= SILENCE_DBFS:
            raise SoundError(f"{opened.name} sends nothing but zeros; is it muted or unplugged?")
        return f"{opened.name}, loudest {level:.0f} dBFS in a second"
    finally:
        opened.close()


def speaker(app: Application) -> str:
    """Whether the speaker opens, and how late it makes each reply."""
    with closing(open_speaker(app.settings)) as opened:
        return f"{opened.name}, holds {opened.latency_s * 1000:.0f} ms"


def delay(app: Application) -> str:
    """How long a tone takes from the speaker to the microphone, and whether the gate is closed to its end."""
    from assistant.audio.echo import find_tone
    from assistant.audio.resample import resample

    ring = resample(tones()["ring_firm"], SPEECH_RATE)
    settings = app.settings
    with (
        closing(open_microphone(settings)) as heard_by,
        closing(open_speaker(settings)) as played_by,
    ):
        blocks = heard_by.blocks()
        room, _, _ = _hear_for(
            1.0, blocks, lambda: False
        )  # what waited while the speaker was opened is in it
        played_by.play(ring)
        heard, lasted, ended = _hear_for(ring.seconds + 2.0, blocks, lambda: played_by.busy)
    at = find_tone(heard, ring.pcm, room)
    if at is None:
        raise SoundError("a tone from the speaker is not heard by the microphone")
    # The last sample came at the end; the tone came earlier by the samples between.
    late = lasted - (len(heard) - at) / SPEECH_RATE
    tail = late + ring.seconds - ended
    found = f"a tone is heard after {late * 1000:.0f} ms"
    if settings.voice.half_duplex and tail > settings.voice.tail_s:
        raise SoundError(
            f"{found}, and its end {tail * 1000:.0f} ms after the speaker was done: "
            "the station hears itself; "
            f"write tail_s = {ceil(tail * 10 + 1) / 10:g} under [voice]"
        )
    return found


def _hear_for(seconds: float, blocks: Iterator[Pcm], busy: Callable[[], bool]) -> tuple[Pcm, float, float]:
    """Sound of this length (s), how long that took, and when `busy` was last true (s from the beginning)."""
    begin, ended, got = perf_counter(), 0.0, list[Pcm]()
    while (passed := perf_counter() - begin) < seconds:
        got.append(next(blocks))
        ended = passed if busy() else ended
    return np.concatenate(got), perf_counter() - begin, ended

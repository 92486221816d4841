"""A speaker that plays into a recording, to listen to after a rehearsal."""

import wave
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from assistant.audio.loudness import FADE_S, amplify, as_pcm, limit
from assistant.audio.resample import resample
from assistant.errors import SoundError
from assistant.ports import Pcm, Sound

RECORDING_RATE = 22_050


class FileSpeaker:
    """ports.Speaker that puts everything at its time into one recording.

    `now`: monotonic seconds of the clock that the conversation runs on; the recording begins when this is
    made. `latency_s`: as if a device delayed the sound. It is busy for as long as a real one would be on that
    clock.
    """

    def __init__(
        self, now: Callable[[], float], *, rate: int = RECORDING_RATE, latency_s: float = 0.0
    ) -> None:
        self.volume = 1.0
        self._now = now
        self._rate = rate
        self._latency_s = latency_s
        self._start = now()
        self._ends = self._start
        self._ours: list[tuple[int, Pcm]] = []
        self._theirs: list[tuple[int, Pcm]] = []

    @property
    def busy(self) -> bool:
        """Whether sound is still coming out at this time of the clock."""
        return self._now() < self._ends

    def play(self, sound: Sound) -> None:
        """Put it after what is queued."""
        if not len(sound.pcm):
            return
        begins = self._ends if self.busy else self._now() + self._latency_s
        self._ours.append(self._placed(Sound(amplify(sound.pcm, self.volume), sound.rate), begins))
        self._ends = begins + sound.seconds

    def mix(self, sound: Sound, at: float) -> None:
        """Add somebody else's sound, what the cook says, at a time of the clock."""
        if len(sound.pcm):
            self._theirs.append(self._placed(sound, at))

    def stop(self) -> None:
        """Cut what is coming out, and forget what is queued."""
        if not self.busy:
            return
        now = self._sample(self._now())
        kept = [(start, pcm) for start, pcm in self._ours if start < now]
        if kept:
            start, pcm = kept[-1]
            fade = pcm[max(0, now - start) :][: round(FADE_S * self._rate)]
            slope = np.linspace(1, 0, len(fade), dtype=np.float32)
            kept[-1] = start, np.concatenate([pcm[: now - start], (fade * slope).astype(np.int16)])
        self._ours = kept
        self._ends = self._now()

    def close(self) -> None:
        """Nothing to let go; the recording stays."""

    def recording(self, *, longest_quiet_s: float | None = None) -> Sound:
        """All of it. Where nobody says anything for more than `longest_quiet_s`, only this much is kept."""
        pieces = list(self._pieces(longest_quiet_s))
        return Sound(np.concatenate(pieces) if pieces else np.zeros(0, np.int16), self._rate)

    def save(self, path: Path, *, longest_quiet_s: float | None = None) -> None:
        """Write `recording` as a WAV file, a piece at a time; SoundError when it can't be written."""
        try:
            with path.open("wb") as raw, wave.open(raw, "wb") as file:
                file.setparams((1, 2, self._rate, 0, "NONE", ""))
                for piece in self._pieces(longest_quiet_s):
                    file.writeframes(piece.astype("<i2").tobytes())
        except OSError as cause:
            reason = cause.strerror or str(cause)
            raise SoundError(
                f"the recording can't be written to {path}: {reason}; choose another folder"
            ) from cause

    def _sample(self, at: float) -> int:
        return max(0, round((at - self._start) * self._rate))

    def _placed(self, sound: Sound, at: float) -> tuple[int, Pcm]:
        return self._sample(at), resample(sound, self._rate).pcm

    def _pieces(self, longest_quiet_s: float | None) -> Iterator[Pcm]:
        """Turn by turn: a quiet stretch, then the sounds that overlap, added up."""
        longest = None if longest_quiet_s is None else round(longest_quiet_s * self._rate)
        turn: list[tuple[int, Pcm]] = []
        begins = ends = 0
        for start, pcm in sorted((*self._ours, *self._theirs), key=lambda placed: placed[0]):
            if start > ends or not turn:
                yield from _added(turn, begins, ends)
                quiet = start - ends
                yield np.zeros(quiet if longest is None else min(quiet, longest), np.int16)
                turn, begins, ends = [], start, start
            turn.append((start, pcm))
            ends = max(ends, start + len(pcm))
        yield from _added(turn, begins, ends)


def _added(turn: list[tuple[int, Pcm]], begins: int, ends: int) -> Iterator[Pcm]:
    if len(turn) == 1:
        yield turn[0][1]
    elif turn:
        total = np.zeros(ends - begins, np.float32)
        for start, pcm in turn:
            total[start - begins : start - begins + len(pcm)] += pcm / np.float32(32768)
        yield as_pcm(limit(total))

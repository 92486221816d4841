"""The one worker that owns pyttsx3 for the whole process, used only to write WAV files.

What held for 4,000 utterances (measured; everything else failed in some way): one engine for the process, made and
used by one thread; one warm-up, because the first run may return before it has spoken; only `save_to_file`, to a
path of its own in memory; wait for `finished-utterance`, because `runAndWait` may return before it; look at the file.
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
from typing import Any

import numpy as np

from assistant.errors import VoiceError
from assistant.ports import Sound

TRIES = 3
_MEMORY = Path("/dev/shm")  # tmpfs: what is said never touches the disk
_ROOM = 16 * 1024 * 1024
"""Bytes that must be free there: five minutes of speech."""


@dataclass(slots=True, eq=False)
class _Job:
    text: str
    voice: str
    rate: int
    timeout_s: float
    done: Event = field(default_factory=Event)
    sound: Sound | None = None
    error: str = "the voice doesn't answer; start the program again"


class Worker:
    """Makes sounds one after another in a thread of its own; `make_engine` is called there, once.

    An engine has what pyttsx3's has: connect, setProperty, save_to_file, runAndWait. `let_go` gets it out of a
    `runAndWait` that doesn't end. `folder`: where the files go for a moment, default one of its own in memory.
    """

    def __init__(
        self,
        make_engine: Callable[[], Any],
        let_go: Callable[[Any], None] = lambda _: None,
        folder: Path | None = None,
    ) -> None:
        self._make_engine = make_engine
        self._let_go = let_go
        self._folder = folder
        self._jobs: Queue[_Job | None] = Queue()
        self._current: _Job | None = None
        self._engine: Any = None
        self._finished = Event()
        self._late = False
        self._complaint: BaseException | None = None
        self._made = 0
        self._thread = Thread(target=self._work, name="voice", daemon=True)
        self._thread.start()

    def make(self, text: str, *, voice: str, rate: int, timeout_s: float) -> Sound:
        """Sound of the text, silence at its ends included; waits for those before it. VoiceError as one line."""
        job = _Job(text, voice, rate, timeout_s)
        self._jobs.put(job)
        overdue = 0
        while not job.done.wait(timeout_s):
            overdue += self._current is job
            if overdue > TRIES:
                break
            if overdue:
                self._let_go(self._engine)
        if job.sound is None:
            raise VoiceError(job.error)
        return job.sound

    def close(self) -> None:
        """End the thread after what is waiting; for engines other than the real one, which can't be made again."""
        self._jobs.put(None)
        self._thread.join()

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            self._current = job
            try:
                job.sound = self._serve(job)
            except VoiceError as refusal:
                job.error = str(refusal)
            except Exception as cause:  # whoever waits must hear of it, and the next text may be said
                job.error = (
                    f"the voice can't say '{job.text}': {str(cause) or type(cause).__name__}; try it again"
                )
            self._current = None
            job.done.set()

    def _serve(self, job: _Job) -> Sound:
        folder = self._folder = self._folder or _folder_in_memory()
        if self._engine is None:
            self._start(job, folder)
        self._set(
            "voice",
            job.voice,
            f"there is no voice '{job.voice}'; `espeak-ng --voices=en` lists those there are",
        )
        self._set("rate", job.rate, f"the voice can't speak {job.rate} words a minute; try 160")
        for _ in range(TRIES):
            sound = self._write(job.text, folder, job.timeout_s)
            if sound is not None and sound.pcm.any():
                return sound
        raise VoiceError(
            f"the voice gave no sound for '{job.text}' in {TRIES} tries; say it with letters or digits"
        )

    def _start(self, job: _Job, folder: Path) -> None:
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
        self._write("ready", folder, job.timeout_s)

    def _on_finished(self, **_: object) -> None:
        self._finished.set()

    def _on_error(self, exception: BaseException | None = None, **_: object) -> None:
        self._complaint = exception

    def _set(self, name: str, value: object, refusal: str) -> None:
        """Set a property; pyttsx3 tells of a bad value through its error callback only."""
        self._complaint = None
        self._engine.setProperty(name, value)
        if self._complaint is not None:
            raise VoiceError(refusal) from self._complaint

    def _write(self, text: str, folder: Path, timeout_s: float) -> Sound | None:
        """One try: through the engine into a file and out of it; None when nothing came of it."""
        if self._late:
            # The try before may still be writing, and would write into our file.
            self._finished.wait(timeout_s)
        folder.mkdir(exist_ok=True)
        if shutil.disk_usage(folder).free < _ROOM:
            raise VoiceError(f"the voice has no room to work in {folder}; free 16 MB there")
        self._made += 1
        path = folder / f"{self._made}.wav"
        self._finished.clear()
        try:
            self._engine.save_to_file(text, str(path))
            self._engine.runAndWait()
            self._late = not self._finished.wait(timeout_s)
            return None if self._late else _read(path)
        finally:
            path.unlink(missing_ok=True)


def _folder_in_memory() -> Path:
    """A folder of this process's own, gone when it ends; on disk where there is no tmpfs for it."""
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

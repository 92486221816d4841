"""Stands in for pyttsx3's engine, its bad habits included (all seen in version 2.99 on Linux).

`runAndWait` may return before the file is written; the file may be empty or missing; a run may never end; a
bad property is reported through the error callback only; a late one writes into the path given last; it says
that it finished while it is still at work, and a rate that is set then, or not given time, is lost.
"""

import threading
import wave
from collections.abc import Callable
from typing import Any

import numpy as np


class FakeEngine:
    """`habits`: how each run goes, then "good"; good, empty, zeros, nothing, damaged, hangs, late."""

    def __init__(self, *habits: str) -> None:
        self.habits = ["good", *habits]  # the warm-up comes first
        self.properties: dict[str, Any] = {}
        self.rates: list[int] = []
        self.paths: list[str] = []
        self._rests_in = 0
        self.threads: set[int] = set()
        self.owed = ""
        self._held = threading.Event()
        self._callbacks: dict[str, Callable[..., None]] = {}
        self._text = ""

    def connect(self, topic: str, callback: Callable[..., None]) -> None:
        self._callbacks[topic] = callback

    def setProperty(self, name: str, value: Any) -> None:  # noqa: N802
        if value == "nonsense":
            self._callbacks["error"](name=None, exception=ValueError("EE_INTERNAL_ERROR"))
        elif self._rests_in == 0:
            self.properties[name] = value
            self._rests_in = 2

    def rate(self) -> int:
        return int(self.properties.get("rate", 200))

    def save_to_file(self, text: str, path: str) -> None:
        self._text = text
        self.paths.append(path)

    def runAndWait(self) -> None:  # noqa: N802
        self.threads.add(threading.get_ident())
        if self._rests_in:
            self.properties.pop("rate", None)
        self.rates.append(self.rate())
        habit = self.habits.pop(0) if self.habits else "good"
        if self.owed:
            # The one before ends this run, and this text is the next to be late.
            self.finish_late()
            self.owed = self._text
        elif habit == "hangs":
            self._held.wait()
            self._held.clear()
        elif habit == "late":
            self.owed = self._text
        elif habit != "nothing":
            self._write(self._text, habit)
            self._rests_in = 2
            self._callbacks["finished-utterance"](name=None, completed=True)

    def finish_late(self) -> None:
        """The utterance that was late comes after all."""
        self._rests_in = 2
        text, self.owed = self.owed, ""
        self._write(text, "good")
        self._callbacks["finished-utterance"](name=None, completed=True)

    def let_go(self) -> None:
        self._held.set()

    def working(self) -> bool:
        self._rests_in = max(0, self._rests_in - 1)
        return bool(self.owed) or self._rests_in > 0

    def _write(self, text: str, habit: str) -> None:
        samples = np.full(0 if habit == "empty" else 100 * len(text), 0 if habit == "zeros" else 5_000, "<i2")
        with open(self.paths[-1], "wb") as raw:
            if habit == "damaged":
                raw.write(b"RIFF")
                return
            with wave.open(raw, "wb") as file:
                file.setparams((1, 2, 22_050, 0, "NONE", ""))
                file.writeframes(samples.tobytes())

"""The recogniser in a process of its own, which is ended where it does not answer in time, and begun anew.

A network or a search that hangs in C code can't be left, and may hold up every thread of its process, timers
and lamp too; one that crashes takes its process along. The sound of an utterance goes through a socket in
well under a millisecond (`tests/bench/apart`).
"""

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Generic, NoReturn

from assistant.apart import Apart, Channel
from assistant.errors import ApartError, CrumbcallError, one_line
from assistant.ports import Asking, M, Overtaken, Recogniser, Recognition, Sound, Wanted, always
from assistant.station.alive.vital_parts import Parts

ANSWER_S = 10.0
"""What an utterance takes at most, beside its own length (s): the longest, on a slow machine that is busy."""
READY_S = 120.0
"""What loading takes at most: a large model on a slow card (s)."""
WAKE_S = 600.0
"""How long the process waits for a request before it waits again (s)."""
LOOK_S = 0.02
"""How often it is looked whether the answer is still wanted (s)."""
AGAIN_S = (0.0, 1.0, 5.0, 10.0, 30.0)
"""Seconds before the next process, by how many were ended in a row without an answer; the last repeats."""


class RecogniserApart(Generic[M]):
    """ports.Recogniser in another process; `recognise` belongs to one thread.

    `start` starts one that answers as `serve` does. `parts` is told "recogniser" while there is none. Raises
    what the process raises as it loads, and ApartError where it does not answer.
    """

    def __init__(self, start: Callable[[], Apart], parts: Parts, now: Callable[[], float]) -> None:
        self._start = start
        self._parts = parts
        self._now = now
        self._closed = threading.Event()
        self._failures = 0
        self._apart: Apart | None = start()
        self.name = ""

    def wait_until_ready(self) -> None:
        """Wait until it is loaded; raises what went wrong with it."""
        apart = self._apart
        assert apart is not None
        try:
            self.name = _loaded(apart)
        except BaseException:
            apart.kill()
            raise

    def recognise(
        self, sound: Sound, *, asking: Asking = Asking.NOTHING, wanted: Wanted = always
    ) -> Recognition[M]:
        """Recognise one utterance; what takes too long, fails or crashes ends the process."""
        apart = self._apart
        if apart is None:
            raise ApartError("the recogniser is closed")
        try:
            apart.send((sound, asking))
            answer = self._answer(apart, self._now() + ANSWER_S + sound.seconds, wanted)
        except Exception as error:
            self._begin_anew(apart, error)
        if answer is None:
            raise Overtaken
        self._failures = 0
        return answer

    def close(self) -> None:
        """End the process; whoever waits for an answer gets ApartError. From any thread."""
        self._closed.set()
        apart, self._apart = self._apart, None
        if apart is not None:
            apart.kill()

    def _answer(self, apart: Channel, until: float, wanted: Wanted) -> Recognition[M] | None:
        """The answer to the last request; None where it was left because it was no longer wanted."""
        left = False
        while not apart.ready(LOOK_S):
            if self._now() > until:
                raise ApartError("the recogniser hangs: it was ended, and is begun anew")
            if not left and not wanted():
                apart.send(None)
                left = True
        answer = apart.receive(ANSWER_S)
        if isinstance(answer, str):
            raise ApartError(f"the recogniser failed: {answer}")
        found: Recognition[M] | None = answer
        return found

    def _begin_anew(self, apart: Apart, error: Exception) -> NoReturn:
        """End this process, start others until one is there, and raise the error."""
        self._parts.lost("recogniser", one_line(error))
        while not self._closed.is_set():
            apart.kill()
            wait_s = AGAIN_S[min(self._failures, len(AGAIN_S) - 1)]
            self._failures += 1
            self._parts.due("recogniser", wait_s + READY_S + ANSWER_S)
            if self._closed.wait(wait_s):
                break
            apart = self._apart = self._start()
            if self._closed.is_set():
                apart.kill()
            with suppress(CrumbcallError):
                self.name = _loaded(apart)
                self._parts.found("recogniser")
                break
        raise error


def _loaded(apart: Channel) -> str:
    """The engine's name, once it is loaded; raises what it could not be loaded for."""
    answer = apart.receive(READY_S)
    if isinstance(answer, CrumbcallError):
        raise answer
    return str(answer)


def serve(channel: Channel, load: Callable[[], Recogniser[M]]) -> None:
    """What the process does: load the recogniser, then answer, until the other end is gone.

    A request is (sound, asking). None behind it says that the answer is no longer wanted; the answer is the
    recognition, None where it was left, or what went wrong in one line.
    """
    try:
        recogniser = load()
        channel.send(recogniser.name)
    except CrumbcallError as error:
        channel.send(error)
        return
    while True:
        if not channel.ready(WAKE_S):
            continue
        request = channel.receive(0.0)
        if request is not None:  # that one came after its answer
            channel.send(_answered(channel, recogniser, *request))


def _answered(
    channel: Channel, recogniser: Recogniser[M], sound: Sound, asking: Asking
) -> Recognition[M] | str | None:
    overtaken = False

    def wanted() -> bool:
        nonlocal overtaken
        if not overtaken and channel.ready(0.0):
            overtaken = channel.receive(0.0) is None
        return not overtaken

    try:
        return recogniser.recognise(sound, asking=asking, wanted=wanted)
    except Overtaken:
        return None
    except ApartError:
        raise
    except Exception as error:
        return one_line(error)

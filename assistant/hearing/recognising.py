"""Recognising at once, or in a thread of its own."""

import math
import threading
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from dataclasses import dataclass
from queue import Queue

from assistant.batch.record.commands import Command
from assistant.hearing.early_decision import Recognise
from assistant.ports import Asking, Overtaken, Recogniser, Recognition, Sound, Utterance
from assistant.station.alive.vital_parts import Parts

MOST_WAITING = 8
"""Utterances that wait for a recogniser which is slow or gone; of more than that the oldest are dropped."""


def at_once(recogniser: Recogniser[Command], asking: Callable[[], Asking]) -> Recognise:
    """Recognise in the thread that asks."""

    def recognise(utterance: Utterance) -> "Future[Recognition[Command]]":
        done: Future[Recognition[Command]] = Future()
        done.set_result(recogniser.recognise(utterance.sound, asking=asking()))
        return done

    return recognise


class RecogniserThread:
    """Recognises in a thread of its own, so that no sound is missed in the meantime.

    What is cancelled is left even when it has begun, so that what comes after it does not wait for it. It may
    be called from one thread. `asking`: what may be said besides commands. `parts` is told when it works, and
    that it is done `within_s`.
    """

    def __init__(
        self,
        recogniser: Recogniser[Command],
        asking: Callable[[], Asking],
        *,
        within_s: float = math.inf,
        parts: Parts | None = None,
    ) -> None:
        self._recogniser = recogniser
        self._asking = asking
        self._within_s = within_s
        self._parts = parts
        self._work: Queue[_Waiting | None] = Queue()
        self._waiting: list[_Waiting] = []
        self._at_work: _Waiting | None = None
        self._thread = threading.Thread(target=self._run, name="recogniser", daemon=True)
        self._thread.start()

    def __call__(self, utterance: Utterance) -> "Future[Recognition[Command]]":
        """Queue an utterance; more than `MOST_WAITING` push out the oldest, whose future is cancelled.

        That which is at work is not pushed out: where there is much talk, nothing would be heard at all.
        """
        # Never marked as running, so that it can be cancelled until it is there.
        done: Future[Recognition[Command]] = Future()
        work = _Waiting(utterance.sound, self._asking(), done)
        self._waiting.append(work)
        self._work.put(work)
        waiting = [one for one in self._waiting if not one.done.done() and one is not self._at_work]
        for oldest in waiting[:-MOST_WAITING]:
            oldest.done.cancel()
        self._waiting = waiting[-MOST_WAITING:]
        return done

    def close(self, timeout_s: float = 2.0) -> None:
        """End the thread, and wait for it at most this long (s)."""
        at_work = self._at_work
        for waiting in self._waiting:
            if waiting is not at_work:  # that one learns how it ended
                waiting.done.cancel()
        self._work.put(None)
        self._thread.join(timeout_s)

    def _run(self) -> None:
        while (work := self._work.get()) is not None:
            self._at_work = work
            if work.done.cancelled():
                continue
            if self._parts is not None:
                self._parts.due("recogniser", self._within_s)
            with suppress(InvalidStateError, Overtaken):  # cancelled in the meantime: nobody waits for it
                self._recognise(work)
            if self._parts is not None:
                self._parts.rests("recogniser")

    def _recognise(self, work: "_Waiting") -> None:
        try:
            found = self._recogniser.recognise(
                work.sound, asking=work.asking, wanted=lambda: not work.done.cancelled()
            )
        except Overtaken:
            raise
        except BaseException as error:
            work.done.set_exception(error)
        else:
            work.done.set_result(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Waiting:
    """An utterance that is to be recognised."""

    sound: Sound
    asking: Asking
    done: "Future[Recognition[Command]]"

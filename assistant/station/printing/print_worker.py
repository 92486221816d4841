"""Printing beside the station: one job at a time, in the order in which they were asked."""

import threading
from collections.abc import Callable
from queue import Empty, Queue

from assistant.batch.record.printing.print_jobs import PrintJob, waiting
from assistant.batch.record.printing.print_kinds import PrintResult
from assistant.batch.record.state import State
from assistant.station.messages import Message, PrintDone

Print = Callable[[PrintJob], PrintResult]
"""Prints a job; returns when it is printed or can't be. May take as long as its own limit."""

LOOK_EVERY_S = 0.5
"""The thread looks this often whether it is to end."""


class PrintWorker:
    """Prints what the state says waits. `follow` belongs to the thread of the loop, `run` to its own."""

    def __init__(self, print_job: Print, inbox: "Queue[Message]") -> None:
        self._print = print_job
        self._inbox = inbox
        self._jobs: Queue[PrintJob] = Queue()
        self._busy: int | None = None

    def follow(self, state: State) -> None:
        """Take the next job, where none is being printed; the state had that of the last before."""
        jobs = waiting(state.prints)
        if self._busy is not None and any(one.job == self._busy for one in jobs):
            return
        self._busy = jobs[0].job if jobs else None
        if jobs:
            self._jobs.put(jobs[0])

    def run(self, stop: threading.Event) -> None:
        """Print until stopped."""
        while not stop.is_set():
            try:
                job = self._jobs.get(timeout=LOOK_EVERY_S)
            except Empty:
                continue
            self._inbox.put(PrintDone(job.job, self._print(job)))

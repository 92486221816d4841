"""Printing beside the station's loop: one at a time, and a printer that hangs holds up nothing."""

import threading
from queue import Queue

from assistant.batch.decide.decide import Printed
from assistant.batch.record.commands import Print, TrayDone
from assistant.batch.record.printing.print_jobs import PrintJob
from assistant.batch.record.printing.print_kinds import PrintFailure, PrintResult
from assistant.station.messages import Message, PrintDone
from assistant.station.printing.print_worker import PrintWorker
from assistant.station.workers import Worker
from tests.batch.kitchen import Kitchen
from tests.batch.printing.test_printing import kitchen, pages


class Paper:
    """A printer that waits until it is let go on."""

    def __init__(self, *failures: PrintFailure | None) -> None:
        self.failures = list(failures)
        self.printed: list[PrintJob] = []
        self.go_on = threading.Event()

    def __call__(self, job: PrintJob) -> PrintResult:
        assert self.go_on.wait(20.0)
        self.printed.append(job)
        return PrintResult(self.failures.pop(0) if self.failures else None)


def test_jobs_are_printed_one_after_the_other_and_each_once() -> None:
    paper, inbox = Paper(), Queue[Message]()
    printing = PrintWorker(paper, inbox)
    found = kitchen(trays=2)
    found.say(Print("label", 1))
    found.say(Print("label", 2))
    worker = Worker("printing", printing.run, inbox).start()
    try:
        for _ in range(3):
            printing.follow(found.state)  # while one is printed, turns go on
        paper.go_on.set()
        for number in (1, 2):
            done = inbox.get(timeout=20.0)
            assert done == PrintDone(number)
            assert inbox.empty()
            found.ask(Printed(number))
            printing.follow(found.state)
        assert [one.tray for one in paper.printed] == [1, 2]
        assert pages(found.state) == []
    finally:
        worker.stop()


def test_a_printer_that_hangs_holds_up_no_turn() -> None:
    paper, inbox = Paper("printer"), Queue[Message]()
    printing = PrintWorker(paper, inbox)
    found: Kitchen = kitchen()
    found.say(Print("label"))
    worker = Worker("printing", printing.run, inbox).start()
    try:
        printing.follow(found.state)
        found.say(TrayDone())
        printing.follow(found.state)
        assert found.batch.trays == 2
        assert paper.printed == []
        paper.go_on.set()
        assert inbox.get(timeout=20.0) == PrintDone(1, PrintResult("printer"))
    finally:
        worker.stop()

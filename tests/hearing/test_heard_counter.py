"""What becomes of each stretch of speech, counted through the station's own loop."""

import threading
from pathlib import Path
from queue import Queue

from assistant.batch.record.commands import Command
from assistant.clock import ScriptedClock
from assistant.hearing.heard_counter import HeardCounter
from assistant.journal.heard_counts import BECAME, Quarter, read_heard
from assistant.ports import Recognition
from assistant.station.loop import Loop
from assistant.station.messages import Heard, Message
from assistant.testing.audio import heard
from tests.station.stand import Stand, understood


class Counting:
    """A station whose loop counts what it hears."""

    def __init__(self, folder: Path, clock: ScriptedClock | None = None) -> None:
        self.folder = folder
        self.stand = Stand(clock or ScriptedClock())
        self.noise: float | None = -40.0
        self.counter = HeardCounter(folder, self.stand.clock, lambda: self.noise)
        inbox: Queue[Message] = Queue()
        self.loop = Loop(
            self.stand.station, inbox, lambda *_: None, act_above=0.9, on_heard=self.counter.take
        )
        self.inbox = inbox

    def hear(
        self, found: Recognition[Command], *, snr_db: float | None = 20.0, addressed: bool = False
    ) -> None:
        self.inbox.put(Heard(found, snr_db=snr_db, addressed=addressed))
        self.loop.take_waiting()

    def counts(self) -> dict[str, int]:
        self.counter.write()
        found = _all(self.folder)
        return {b: n for b in BECAME if (n := sum(one.count(b) for one in found))}


def _all(folder: Path) -> list[Quarter]:
    wall = ScriptedClock().wall()
    return read_heard(folder, wall - 86_400, wall + 5 * 86_400)


def test_what_is_understood_is_acted_on(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("new batch fifteen hundred"))
    counting.hear(understood("water three thirty"))
    assert counting.counts() == {"acted": 2}


def test_a_number_that_is_not_sure_is_asked_about_and_the_answer_is_acted_on(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("new batch fifteen hundred"))
    counting.hear(understood("water three thirty", margin=1.0))
    counting.hear(understood("yes"))
    assert counting.counts() == {"acted": 2, "asked": 1}


def test_a_question_that_has_nothing_to_do_with_hearing_is_no_sign_of_it(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("new batch fifteen hundred"))
    # 600 of 1,500 g are 40 %: past high.
    counting.hear(understood("water six hundred"))
    assert counting.stand.station.state.question is not None
    assert counting.counts() == {"acted": 2}


def test_talk_and_what_nothing_fits_is_left_alone(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("water three thirty", accepted=False))
    counting.hear(heard("", None))
    assert counting.counts() == {"left_alone": 2}


def test_what_was_said_to_it_and_not_understood(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("water three thirty", accepted=False), addressed=True)
    assert counting.counts() == {"not_understood": 1}


def test_nothing_is_counted_while_it_does_not_listen(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("stop listening"))
    counting.hear(understood("what next"))
    counting.hear(heard("", None))
    counting.hear(understood("start listening"))
    assert counting.counts() == {"acted": 2}


def test_quarters_noise_and_bands(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("what next"), snr_db=4.0)
    counting.noise = -30.0
    counting.hear(understood("what next"), snr_db=None)
    counting.stand.clock.move(900)
    counting.noise = None
    counting.hear(understood("what next"), snr_db=7.0)
    counting.counter.write()
    one, two = _all(tmp_path)
    assert (one.counts, one.noise_dbfs) == ({"acted": (1, 0, 0, 0, 1)}, -35.0)
    assert (two.start - one.start, two.counts, two.noise_dbfs) == (900.0, {"acted": (0, 1, 0, 0, 0)}, None)


def test_a_restart_goes_on_with_what_was_counted(tmp_path: Path) -> None:
    first = Counting(tmp_path)
    first.hear(understood("what next"))
    first.counter.write()
    again = Counting(tmp_path, first.stand.clock)
    again.hear(understood("what next"))
    assert again.counts() == {"acted": 2}


def test_midnight_begins_a_new_file_and_loses_nothing(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("what next"))
    counting.stand.clock.move(86_400)
    counting.hear(understood("what next"))
    assert counting.counts() == {"acted": 2}
    assert len(list(tmp_path.glob("*.json"))) == 2


def test_the_worker_writes_when_it_is_stopped(tmp_path: Path) -> None:
    counting = Counting(tmp_path)
    counting.hear(understood("what next"))
    stop = threading.Event()
    stop.set()
    counting.counter.run(stop)
    assert len(_all(tmp_path)) == 1


def test_a_disk_that_cannot_be_written_is_tried_again(tmp_path: Path) -> None:
    folder = tmp_path / "heard"
    folder.write_text("not a folder", encoding="utf-8")
    counting = Counting(folder)
    counting.hear(understood("what next"))
    counting.counter.write()
    folder.unlink()
    assert counting.counts() == {"acted": 1}


def test_a_clock_that_was_not_set_is_said(tmp_path: Path) -> None:
    counting = Counting(tmp_path, ScriptedClock(trusted=False))
    counting.hear(understood("what next"))
    counting.counter.write()
    assert [one.clock_set for one in _all(tmp_path)] == [False]

"""A cook tells the time, where there is no network to set the clock by."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from assistant.batch.record.rules import BatchRules, Known
from assistant.clock import ScriptedClock
from assistant.station.clocks.told_clock import ToldClock
from assistant.station.station import Station
from assistant.testing.clock import check_clock
from assistant.testing.journal import MemoryJournal
from tests.station.stand import grammar, replies

ROME = ZoneInfo("Europe/Rome")
HOUR = 3600.0


def wall_of(text: str, *, fold: int = 0) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=ROME, fold=fold).timestamp()


def shown(wall: float | None) -> str:
    assert wall is not None
    return f"{datetime.fromtimestamp(wall, ROME):%Y-%m-%d %H:%M}"


@pytest.mark.parametrize(
    ("known", "hour", "minute", "meant"),
    [
        ("2026-01-12 16:05", 6, 10, "2026-01-12 18:10"),
        ("2026-01-12 18:12", 6, 10, "2026-01-12 18:10"),  # read a moment ago
        ("2026-01-12 18:30", 6, 10, "2026-01-13 06:10"),
        ("2026-01-12 23:50", 12, 0, "2026-01-13 00:00"),
        ("2026-01-12 11:00", 1, -15, "2026-01-12 12:45"),
        ("2026-03-28 23:00", 6, 10, "2026-03-29 06:10"),  # an hour less on the way
        ("2026-10-24 23:00", 6, 10, "2026-10-25 06:10"),  # an hour more
        ("2026-03-29 01:50", 3, 10, "2026-03-29 03:10"),  # over the hour that is not
    ],
)
def test_it_is_the_first_such_time_after_what_is_known(
    known: str, hour: int, minute: int, meant: str
) -> None:
    clock = ToldClock(ScriptedClock(trusted=False, wall=0.0))
    assert shown(clock.read(hour, minute, wall_of(known), ROME)) == meant
    standing = ToldClock(ScriptedClock(trusted=False, wall=wall_of(known)))
    assert shown(standing.read(hour, minute, None, ROME)) == meant


def test_a_told_clock_goes_on_from_what_it_was_told_until_something_better_sets_it() -> None:
    inner = ScriptedClock(trusted=False, wall=5.0)
    clock = ToldClock(inner)
    check_clock(clock)
    assert (clock.wall(), clock.wall_trusted()) == (5.0, False)
    clock.tell(10_000.0)
    inner.move(60.0)
    assert (clock.wall(), clock.wall_trusted()) == (10_060.0, True)
    inner.set_wall(10_200.0)
    inner.trusted = True
    assert clock.wall() == 10_200.0
    assert clock.read(6, 10) is None


class Kitchen:
    """A station whose clock nothing sets but the cook."""

    def __init__(self, *, trusted: bool = False) -> None:
        self.inner = ScriptedClock(trusted=trusted, wall=wall_of("2026-01-12 14:00"))
        self.clock = ToldClock(self.inner)
        self.journal = MemoryJournal(self.clock)
        self.open()

    def open(self) -> list[str]:
        """The program comes up; keys of what it says."""
        self.clock = ToldClock(self.inner)
        self.journal._clock = self.clock
        state, last = self.journal.load()
        clock = self.clock
        self.station = Station(
            self.journal,
            clock,
            BatchRules(),
            grammar(),
            replies(),
            state,
            known=Known(read_time=lambda hour, minute, after: clock.read(hour, minute, after, ROME)),
            tell=clock.tell,
        )
        return [reply.key for reply in self.station.start(last).replies]

    def say(self, text: str, *, typed: bool = True) -> list[str]:
        """Texts of the replies."""
        turn = self.station.hear(text, source="keyboard" if typed else "voice")
        return [reply.text for reply in turn.replies]


def test_it_is_said_back_and_the_time_off_is_reckoned_with() -> None:
    k = Kitchen()
    assert k.say("it is two o'clock") == ["Two o'clock, set by you."]
    k.say("new batch fifteen hundred")
    k.say("water four sixty-five")
    k.say("tray done")
    before = k.clock.wall()
    k.inner.reboot("second", off_s=1.5 * HOUR)
    k.inner.set_wall(before)
    assert "batch_resumed" in k.open()
    k.inner.move(300.0)
    assert k.say("it's twenty five to four")[0] == "Twenty-five to four, set by you."
    assert k.say("time left") == ["Tray one of batch one: two hours twenty-five to be at five degrees."]
    assert shown(k.clock.wall()) == "2026-01-12 15:35"


def test_what_was_heard_is_asked_about_first() -> None:
    k = Kitchen()
    assert k.say("it is ten past six", typed=False) == ["Ten past six?"]
    assert not k.clock.wall_trusted()
    assert k.say("yes", typed=False) == ["Ten past six, set by you."]
    assert k.clock.wall_trusted()
    k.say("it is half past six", typed=False)
    k.say("no", typed=False)
    assert shown(k.clock.wall()) == "2026-01-12 18:10"


def test_told_again_it_is_set_again() -> None:
    k = Kitchen()
    k.say("it is ten past six")
    assert k.say("it is quarter past five") == ["Quarter past five, set by you."]
    assert shown(k.clock.wall()) == "2026-01-12 17:15"


def test_with_a_clock_that_is_set_it_is_talk_and_leaves_a_question_open() -> None:
    k = Kitchen(trusted=True)
    assert k.say("it is ten past six") == []
    k.say("new batch fifteen hundred")
    k.say("water nine hundred")
    assert k.say("it is ten past six") == []
    assert k.station.state.question is not None


def test_what_was_told_holds_for_another_start_in_the_same_boot_and_not_for_the_next() -> None:
    k = Kitchen()
    k.say("it is ten past six")
    k.say("new batch fifteen hundred")
    k.inner.move(120.0)
    k.open()
    assert shown(k.clock.wall()) == "2026-01-12 18:12"
    k.inner.reboot("second")
    k.open()
    assert not k.clock.wall_trusted()
    assert not k.station.state.clock_told


def test_the_batch_knows_that_its_times_are_a_cooks() -> None:
    k = Kitchen()
    k.say("new batch fifteen hundred")
    k.say("close batch")
    k.say("it is ten past six")
    k.say("new batch fifteen hundred")
    opened = [event for _, event in k.journal.read() if type(event).__name__ == "BatchOpened"]
    assert [getattr(event, "clock_told", None) for event in opened] == [False, True]

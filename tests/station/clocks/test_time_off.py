"""A board without a clock of its own: the power goes, the wall clock is wrong at the start, and set later."""

from dataclasses import dataclass, field

import pytest

from assistant.batch.record.evolving.evolve import replay
from assistant.batch.record.rules import BatchRules
from assistant.clock import ScriptedClock
from assistant.ports import Stamp
from assistant.station.loop import Loop
from assistant.station.station import LOOK_AT_CLOCK_S, Station, known_before
from tests.station.stand import Stand, grammar, replies

HOUR = 3600.0


@dataclass
class Board(Stand):
    """A stand whose power can be cut."""

    said: list[tuple[float, str]] = field(default_factory=list)

    def cut(self, off_s: float, *, wall: float | None = None, trusted: bool = False) -> list[str]:
        """The power is gone for so long (s); the wall clock then shows `wall`, or the right time.

        Returns the keys of what is said at the start.
        """
        state, last = self.journal.load()
        self.clock.reboot(f"after {self.clock.wall()}", off_s=off_s, trusted=trusted)
        if wall is not None:
            self.clock.set_wall(wall)
        self.station = Station(self.journal, self.clock, BatchRules(), grammar(), replies(), state)
        self.loop = Loop(self.station, self.inbox, lambda turn, _: self.turns.append(turn))
        return [reply.key for reply in self.station.start(last).replies]

    def keys(self, seconds: float) -> list[tuple[float, str]]:
        """Let time pass; when what was said of itself, in station time."""
        return [(turn.at, reply.key) for turn in self.wait(seconds) for reply in turn.replies]


@pytest.fixture
def board() -> Board:
    """A board with a tray of a dough that was wet two hours ago."""
    found = Board()
    found.say("new batch fifteen hundred")
    found.say("water four sixty-five")
    found.say("tray done")
    found.wait(2 * HOUR)
    found.say("timer two nine hours")
    return found


def test_a_tray_rings_at_its_true_four_hours_though_the_clock_was_set_only_after_the_start(
    board: Board,
) -> None:
    true = board.clock.wall() + 1.5 * HOUR
    before = board.clock.wall()
    # As the last shutdown left it: a board without a battery has nothing better.
    assert board.cut(1.5 * HOUR, wall=before)[-1] == "batch_resumed"
    assert [key for _, key in board.keys(5.0)] == ["tray_may_be_over"]
    assert board.say("got it").startswith("Tray one of batch one, power cut")
    assert board.keys(30.0) == []
    board.clock.set_wall(true + 35.0)
    board.clock.trusted = True
    told = board.keys(LOOK_AT_CLOCK_S)
    assert [key for _, key in told] == ["clock_set", "tray_left", "clean_soon"]
    assert told[0][0] <= 35.0 + LOOK_AT_CLOCK_S
    rings = [at for at, key in board.keys(2 * HOUR) if key == "tray_rings"]
    assert rings[0] == pytest.approx(0.5 * HOUR)
    (timer,) = (t for t in board.station.state.timers if t.name == "2")
    assert timer.certain
    assert timer.due == pytest.approx(7.5 * HOUR)
    assert replay(event for _, event in board.journal.read()) == board.station.state


def test_one_that_was_over_in_the_dark_rings_when_the_clock_is_set(board: Board) -> None:
    true = board.clock.wall() + 2 * HOUR
    board.cut(2 * HOUR, wall=board.clock.wall())
    board.keys(30.0)
    board.clock.set_wall(true + 30.0)
    board.clock.trusted = True
    keys = [key for _, key in board.keys(LOOK_AT_CLOCK_S)]
    assert keys[:2] == ["time_off_known", "time_left"]
    assert "tray_rings" in keys


def test_until_the_clock_is_set_nothing_is_said_of_looking_and_nothing_spins(board: Board) -> None:
    board.cut(2 * HOUR)
    board.say("got it")
    turns = len(board.turns)
    assert board.keys(600.0) == []
    assert len(board.turns) == turns
    assert board.station.next_due is not None
    assert board.station.next_due > board.station.now


def test_nothing_of_it_is_spoken_into_a_question(board: Board) -> None:
    board.cut(HOUR)
    board.say("got it")
    board.clock.trusted = True
    assert board.say("water nine hundred").endswith("?")
    assert board.keys(9.0) == []
    assert [key for _, key in board.keys(1.0)] == ["lapsed", "time_off_known", "tray_left"]


def test_a_clock_that_shows_less_than_before_the_cut_is_not_believed(board: Board) -> None:
    before = board.clock.wall()
    board.cut(HOUR)
    board.say("got it")
    board.clock.set_wall(before - HOUR)
    board.clock.trusted = True
    assert board.keys(600.0) == []
    board.clock.set_wall(before + HOUR + 600.0)
    assert [key for _, key in board.keys(LOOK_AT_CLOCK_S)] == ["clock_set", "tray_left"]


@pytest.mark.parametrize("step", [HOUR, -HOUR, 90 * 86_400.0, -1.0])
def test_a_step_of_the_wall_clock_moves_no_timer(step: float) -> None:
    # Summer time, a leap second that is said twice, a cook who sets the date.
    stand = Stand()
    stand.say("timer two ten minutes")
    stand.wait(300.0)
    stand.clock.set_wall(stand.clock.wall() + step)
    assert [turn.at for turn in stand.wait(301.0)] == [600.0]


@pytest.mark.parametrize("error", [-0.9, -0.2, 0.0, 0.3])
def test_a_slewed_clock_and_a_leap_second_are_within_what_is_believed(board: Board, error: float) -> None:
    board.clock.set_wall(board.clock.wall() + error)
    board.cut(0.0, trusted=True)
    (timer,) = (t for t in board.station.state.timers if t.name == "2")
    assert timer.certain
    assert timer.due == pytest.approx(9 * HOUR, abs=0.5)


def test_a_clock_that_went_back_between_two_boots_leaves_it_uncertain_for_good(board: Board) -> None:
    board.cut(0.0, wall=board.clock.wall() - HOUR, trusted=True)
    assert board.station.state.time_off is None
    assert not any(timer.certain for timer in board.station.state.timers)


@pytest.mark.parametrize(
    ("last_trusted", "now_trusted", "same_boot", "known"),
    [
        (True, False, False, True),
        (False, False, False, False),
        (True, True, False, False),
        (True, False, True, False),
    ],
)
def test_what_the_clock_may_yet_tell(
    last_trusted: bool, now_trusted: bool, same_boot: bool, known: bool
) -> None:
    clock = ScriptedClock(trusted=now_trusted, monotonic=7.0)
    boot = clock.boot_id() if same_boot else "before"
    found = known_before(Stamp(1, 1000.0, 50.0, boot, last_trusted), clock)
    assert (found is not None) == known
    assert found is None or (found.at, found.wall) == (7.0, 1000.0)
    assert known_before(None, clock) is None

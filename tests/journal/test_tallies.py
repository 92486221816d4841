"""A line a batch for the year: what was corrected or taken back counts as it stands at the end."""

from contextlib import closing
from pathlib import Path

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.clock import ScriptedClock
from assistant.dough.amounts import Amount
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.journal.tallies import Tally

WALL = 1_772_000_000.0
DAY_S = 86_400.0


def grams(value: float) -> Amount:
    return Amount(value, exact=True)


def play(file: Path, *batches: tuple[cmd.Command, ...]) -> None:
    """A day a batch of 1,500 g, with these commands after its opening."""
    clock = ScriptedClock(wall=WALL)
    with closing(SqliteJournal.open(file, clock)) as journal:
        state, _ = journal.load()
        for commands in batches:
            for command in (cmd.NewBatch(grams(1500)), *commands):
                clock.move(30)
                decision = decide(state, Said(command), clock.monotonic(), BatchRules())
                journal.append(decision.events)
                state = decision.state
            clock.move(DAY_S)


def read(file: Path, since: float = 0.0, until: float = 1e12) -> list[Tally]:
    with JournalReader.open(file) as journal:
        return journal.tallies(since, until)


def test_checks_scrap_portions_and_what_went_over(tmp_path: Path) -> None:
    play(
        tmp_path / "j",
        (
            cmd.AddWater(grams(450)), cmd.JudgeCrumb("dry"), cmd.AddWater(grams(15)), cmd.JudgeCrumb("wet"),
            cmd.Undo(), cmd.JudgeCrumb("ready"), cmd.Extruding(), cmd.Scrap(grams(40)),
            cmd.MakeThat(grams(60)), cmd.Portions(10), cmd.Portions(4), cmd.CloseBatch(),
        ),
        (cmd.AddWater(grams(480)), cmd.JudgeCrumb("wet"), cmd.DropBatch()),
        (cmd.AddWater(grams(450)),),
    )  # fmt: skip
    first, second = read(tmp_path / "j")
    # The verdict that was taken back is no check; 40 g of scrap were really 60.
    assert (first.checks, first.over, first.scrap_g, first.portions) == (2, False, 60.0, 14)
    assert (second.checks, second.over, second.batch.outcome) == (1, True, "dropped")


def test_a_batch_counts_in_the_span_in_which_it_ended(tmp_path: Path) -> None:
    done = (cmd.AddWater(grams(450)), cmd.JudgeCrumb("ready"), cmd.Extruding(), cmd.CloseBatch())
    play(tmp_path / "j", done, done, done)
    assert [one.batch.number for one in read(tmp_path / "j", WALL + DAY_S, WALL + 2 * DAY_S)] == [2]
    assert read(tmp_path / "j", WALL + 30 * DAY_S) == []


def test_summaries_of_a_span_have_the_open_batch_too(tmp_path: Path) -> None:
    done = (cmd.AddWater(grams(450)), cmd.JudgeCrumb("ready"), cmd.Extruding(), cmd.CloseBatch())
    play(tmp_path / "j", done, done, (cmd.AddWater(grams(450)),))
    with JournalReader.open(tmp_path / "j") as journal:
        assert [one.number for one in journal.batches(WALL + DAY_S)] == [2, 3]
        assert [one.number for one in journal.batches()] == [1, 2, 3]
        assert [one.number for one in journal.last_batches(2)] == [3, 2]
        assert [one.number for one in journal.last_batches(5, before=3)] == [2, 1]
        assert journal.flour_by_lot() == {None: 4500.0}


def test_a_state_that_was_loaded_is_followed_and_another_journal_is_read_anew(tmp_path: Path) -> None:
    done = (cmd.AddWater(grams(450)), cmd.JudgeCrumb("ready"), cmd.Extruding(), cmd.CloseBatch())
    play(tmp_path / "j", done)
    with JournalReader.open(tmp_path / "j") as journal:
        first = journal.load_after(State(), None)
        assert first == journal.load()
    play(tmp_path / "j", (cmd.AddWater(grams(450)),))
    with JournalReader.open(tmp_path / "j") as journal:
        assert journal.load_after(*first) == journal.load()
        assert journal.load_after(*journal.load()) == journal.load()
    play(tmp_path / "other", (cmd.AddWater(grams(300)),) * 9)
    with JournalReader.open(tmp_path / "other") as journal:
        assert journal.load_after(*first) == journal.load()

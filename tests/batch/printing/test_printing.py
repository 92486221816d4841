"""What is printed when the cook says so, what is asked, and what becomes of what could not be printed."""

from dataclasses import replace

import pytest

from assistant.batch.decide.decide import Printed
from assistant.batch.record import commands as cmd
from assistant.batch.record.printing.print_events import PrintAsked, PrintEnded
from assistant.batch.record.printing.print_jobs import MOST_KEPT, kept, waiting
from assistant.batch.record.printing.print_kinds import PrintedWhat, PrintFailure, PrintResult
from assistant.batch.record.sayable.print_sayable import PRINT_SAYABLE
from assistant.batch.record.state import State
from tests.batch.kitchen import REMEMBERS, Kitchen, typed

LABEL, LABELS, SHEET, AGAIN = (
    cmd.Print("label"),
    cmd.Print("labels"),
    cmd.Print("sheet"),
    cmd.Print("again"),
)
YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)


def kitchen(*, trays: int = 1) -> Kitchen:
    """A kitchen with printers, in whose open batch so many trays are done."""
    prints: frozenset[PrintedWhat] = frozenset({"label", "sheet", "day"})
    found = Kitchen(known=replace(REMEMBERS, prints=prints, today=lambda: "2026-03-02"))
    found.say(cmd.NewBatch(typed(1500)))
    for _ in range(trays):
        found.say(cmd.TrayDone())
    return found


def pages(state: State) -> list[tuple[object, ...]]:
    """What waits to be printed."""
    return [one.page for one in waiting(state.prints)]


def ends(found: Kitchen, failure: PrintFailure | None = None) -> list[str]:
    """The oldest job ends; keys of what is said."""
    job = waiting(found.state.prints)[0].job
    return [key for key, _ in found.ask(Printed(job, PrintResult(failure, "why")))]


@pytest.mark.parametrize(
    ("command", "page", "said"),
    [
        (LABEL, ("label", 1, 2, False, None), ("print_label", {"tray": 2})),
        (cmd.Print("label", 1), ("label", 1, 1, False, None), ("print_label", {"tray": 1})),
        (LABELS, ("label", 1, None, True, None), ("print_labels", {"batch": 1})),
        (SHEET, ("sheet", 1, None, False, None), ("print_sheet", {"batch": 1})),
        (cmd.Print("day"), ("day", None, None, False, "2026-03-02"), ("print_day", {})),
    ],
)
def test_what_was_asked_is_in_the_record_before_it_is_said(
    command: cmd.Print, page: tuple[object, ...], said: tuple[str, dict[str, int]]
) -> None:
    found = kitchen(trays=2)
    assert found.say(command) == [said]
    assert isinstance(found.events[-1], PrintAsked)
    assert pages(found.state) == [page]
    assert ends(found) == [], "that it comes out is seen"
    assert found.state.prints == ()
    found.check()


def test_without_a_tray_it_is_asked_whether_the_whole_batch_is_meant() -> None:
    for command in (LABEL, LABELS):
        found = kitchen(trays=0)
        assert found.say(command) == [("ask_print_whole", {"batch": 1})]
        assert found.say(YES) == [("print_label_batch", {"batch": 1})]
        assert pages(found.state) == [("label", 1, None, False, None)]
        found.check()
    found = kitchen(trays=0)
    found.say(LABEL)
    assert found.keys(NO) == ["print_stays"]
    assert found.state.prints == ()


def test_after_the_batch_was_closed_its_label_is_that_of_the_last_batch() -> None:
    found = kitchen(trays=2)
    found.say(cmd.CloseBatch())
    found.say(YES)
    assert found.say(LABEL) == [("print_label_batch", {"batch": 1})]
    assert found.say(LABELS) == [("print_labels", {"batch": 1})]
    assert found.say(SHEET) == [("print_sheet", {"batch": 1})]


def test_what_is_not_there_is_said_and_nothing_is_asked_of_the_printer() -> None:
    empty = Kitchen(known=replace(REMEMBERS, prints=frozenset({"label", "sheet", "day"})))
    assert empty.keys(LABEL) == ["print_nothing"]
    assert empty.keys(SHEET) == ["print_nothing"]
    assert empty.keys(AGAIN) == ["print_none_kept"]
    assert kitchen(trays=1).say(cmd.Print("label", 3)) == [("print_no_tray", {"tray": 3, "trays": 1})]
    nobody = kitchen()
    nobody.say(LABEL)
    ends(nobody, "printer")
    nobody.known = REMEMBERS
    assert nobody.keys(AGAIN) == ["print_no_printer"], "nobody would print it"
    without = kitchen()
    without.known = replace(without.known, prints=frozenset({"label"}))
    assert without.keys(SHEET) == ["print_no_printer"]
    assert without.keys(cmd.Print("day")) == ["print_no_printer"]
    assert without.keys(LABEL) == ["print_label"]
    assert all(not isinstance(event, PrintAsked) for event in empty.events)


@pytest.mark.parametrize(
    ("failure", "key"),
    [
        ("printer", "print_failed_printer"),
        ("paper", "print_failed_paper"),
        ("allergens", "print_failed_allergens"),
    ],
)
def test_what_fails_is_told_once_and_kept(failure: PrintFailure, key: str) -> None:
    found = kitchen()
    found.say(LABEL)
    assert ends(found, failure) == [key]
    assert found.events[-1] == PrintEnded(at=found.now, job=1, failure=failure, line="why"), "and why"
    assert found.wait(600.0) == [], "told once"
    assert found.say(AGAIN) == [("print_again", {"count": 1})]
    assert pages(found.state) == [("label", 1, 1, False, None)]
    found.check()


def test_nothing_of_that_number_is_not_kept() -> None:
    found = kitchen()
    found.say(LABEL)
    assert ends(found, "nothing") == ["print_failed_nothing"]
    assert found.state.prints == ()


def test_where_no_printer_answers_what_waits_behind_it_is_kept_and_told_with_it() -> None:
    found = kitchen()
    found.say(LABEL)
    found.say(SHEET)
    assert ends(found, "printer") == ["print_failed_printer"]
    assert (pages(found.state), len(kept(found.state.prints))) == ([], 2)


def test_once_it_prints_again_what_was_kept_is_offered_once() -> None:
    found = kitchen(trays=2)
    found.say(cmd.Print("label", 1))
    ends(found, "printer")
    found.say(cmd.Print("label", 2))
    job = waiting(found.state.prints)[0].job
    assert found.ask(Printed(job)) == [("ask_print_kept", {"count": 1})]
    assert found.say(YES) == [("print_again", {"count": 1})]
    assert ends(found) == []
    found.check()


def test_who_says_no_keeps_it_and_is_not_asked_again() -> None:
    found = kitchen(trays=2)
    found.say(cmd.Print("label", 1))
    ends(found, "printer")
    found.say(SHEET)
    assert ends(found) == ["ask_print_kept"]
    assert found.keys(NO) == ["print_stays"]
    found.say(SHEET)
    assert ends(found) == []
    assert len(kept(found.state.prints)) == 1
    found.check()


def test_it_is_not_offered_into_another_question_nor_into_a_ring() -> None:
    found = kitchen()
    found.say(LABEL)
    ends(found, "printer")
    found.say(SHEET)
    found.say(cmd.SetTimer("1", 60))
    found.wait(60.0)
    assert ends(found) == []
    found.say(cmd.GotIt())
    found.say(cmd.Print("day"))
    assert ends(found) == ["ask_print_kept"], "it was not offered yet"


def test_the_same_page_is_kept_once_and_not_without_end() -> None:
    found = kitchen()
    for _ in range(3):
        found.say(LABEL)
        ends(found, "printer")
    assert len(kept(found.state.prints)) == 1
    found = kitchen(trays=2 * MOST_KEPT)
    for tray in range(1, 2 * MOST_KEPT + 1):
        found.say(cmd.Print("label", tray))
        ends(found, "paper")
    assert [one.tray for one in found.state.prints] == list(range(MOST_KEPT + 1, 2 * MOST_KEPT + 1))
    found.check()


def test_what_a_power_cut_caught_is_offered_and_not_printed_twice() -> None:
    found = kitchen()
    found.say(LABEL)
    said = found.restart()
    assert ("print_waits", {"count": 1}) in said
    assert pages(found.state) == []
    assert found.ask(Printed(1)) == [], "a printer of before the cut has nothing to say"
    assert found.say(AGAIN) == [("print_again", {"count": 1})]
    found.check()


def test_undo_takes_back_what_was_before_the_printing() -> None:
    found = kitchen()
    found.say(LABEL)
    assert found.keys(cmd.Undo()) == ["undone_other"]
    assert found.batch.trays == 0


def test_all_that_may_be_said_of_printing_is_said_in_a_day() -> None:
    found = kitchen(trays=0)
    for command in (LABEL, NO, LABEL, YES):
        found.say(command)
    ends(found, "nothing")
    found.say(cmd.TrayDone())
    failures: tuple[PrintFailure, ...] = ("printer", "paper", "allergens")
    for command, failure in zip((LABEL, LABELS, SHEET), failures, strict=True):
        found.say(command)
        ends(found, failure)
    found.say(cmd.Print("day"))
    ends(found)
    for command in (YES, cmd.Print("label", 3)):
        found.say(command)
    found.restart()
    found.known = REMEMBERS
    found.say(LABEL)
    empty = Kitchen(known=kitchen().known)
    for command in (LABEL, AGAIN):
        empty.say(command)
    assert {one.key for one in (*found.heard, *empty.heard)} >= set(PRINT_SAYABLE)


def test_the_sheet_of_a_day_stays_that_of_its_day_however_late_it_is_printed() -> None:
    found = kitchen()
    found.say(cmd.Print("day"))
    ends(found, "printer")
    found.known = replace(found.known, today=lambda: "2026-03-03")
    found.say(AGAIN)
    assert [one.day for one in waiting(found.state.prints)] == ["2026-03-02"]

"""The sheet of a batch over a power cut whose length became known later."""

from dataclasses import replace

from assistant.batch.decide.decide import ClockSet
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.ports import Stamp
from assistant.sheets.build import build_sheet
from assistant.sheets.known_later import known_later
from assistant.sheets.sheet import Sheet
from tests.batch.kitchen import Kitchen, mixing, typed


def sheet_of(k: Kitchen) -> Sheet:
    boot, events = 0, list[tuple[Stamp, ev.Event]]()
    for sequence, event in enumerate(k.events, 1):
        boot += isinstance(event, ev.StationStarted)
        events.append((Stamp(sequence, 1_768_000_000.0 + event.at, event.at, f"boot {boot}", True), event))
    return build_sheet(events)


def over_a_cut() -> Kitchen:
    k = mixing(1500, 300)
    k.say(cmd.Mix(600))
    k.wait(60)
    k.restart(certain=False, known=True, now=5)
    k.wait(20)
    k.say(cmd.AddWater(typed(100)))
    k.say(cmd.Rest(300))
    k.wait(10)
    return k


def test_until_it_is_known_the_times_are_called_uncertain() -> None:
    sheet = sheet_of(over_a_cut())
    assert not sheet.certain
    assert [round(line.moment.since_s) for line in sheet.lines] == [0, 0, 0, 60, 80, 80]


def test_once_it_is_known_what_came_after_the_start_is_later_and_certain() -> None:
    k = over_a_cut()
    k.ask(ClockSet(7200.0))
    k.wait(300)
    k.say(cmd.GotIt())
    k.say(cmd.AddWater(typed(50)))
    sheet = sheet_of(k)
    assert sheet.certain
    assert [round(line.moment.since_s) for line in sheet.lines] == [0, 0, 0, 7260, 7280, 7280, 7290, 7590]
    (told,) = (line.what for line in sheet.lines if line.what.key == "lines.time_off")
    assert told.values["off"] == 7200.0
    notes = [note for line in sheet.lines for note in line.notes if note.key == "notes.ran"]
    assert [round(note.values["seconds"]) for note in notes] == [7280, 300]


def test_a_step_from_before_is_still_struck_when_it_is_taken_back() -> None:
    k = mixing(1500, 300)
    k.restart(certain=False, known=True, now=5)
    k.ask(ClockSet(7200.0))
    k.say(cmd.Undo())
    assert [line.struck for line in sheet_of(k).lines] == [False, True, False, False, False]


def test_what_was_written_before_the_clock_was_set_gets_its_date_from_what_came_after() -> None:
    stamps = [
        Stamp(1, 9_000.0, 100.0, "one", True),
        Stamp(2, 50.0, 10.0, "two", False),
        Stamp(3, 60.0, 20.0, "two", False),
        Stamp(4, 20_030.0, 30.0, "two", True),
        Stamp(5, 70.0, 5.0, "three", False),
    ]
    found = [stamp for stamp, _ in known_later((stamp, None) for stamp in stamps)]
    assert [stamp.wall for stamp in found] == [9_000.0, 20_010.0, 20_020.0, 20_030.0, 70.0]
    assert [stamp.wall_trusted for stamp in found] == [True, True, True, True, False]


def test_a_batch_that_was_opened_before_the_clock_was_set_has_its_date_on_the_sheet() -> None:
    k = mixing(1500, 300)
    stamps = [
        Stamp(1, 50.0, 10.0, "one", False),
        Stamp(2, 20_030.0, 30.0, "one", True),
    ]
    sheet = build_sheet(list(zip(stamps, k.events[:2], strict=True)))
    assert (sheet.opened.wall, sheet.opened.wall_trusted) == (20_010.0, True)


def test_the_sheet_says_whose_time_it_is() -> None:
    k = mixing(1500, 300)
    assert not sheet_of(k).clock_told
    k.known = replace(k.known, read_time=lambda *_: 1_768_000_000.0)
    k.say(cmd.ClockTold(6, 10), unsure=True)
    k.say(cmd.Answer(yes=True))
    assert sheet_of(k).clock_told
    k.say(cmd.CloseBatch())
    k.say(cmd.Answer(yes=True))
    k.events.clear()
    k.say(cmd.NewBatch(typed(1000)))
    assert sheet_of(k).clock_told


def test_a_batch_that_was_opened_after_the_start_is_as_it_was() -> None:
    k = Kitchen()
    k.say(cmd.Loudness(1))
    k.restart(certain=False, known=True, now=5)
    k.wait(1)
    k.say(cmd.NewBatch(typed(1500)))
    k.say(cmd.AddWater(typed(100)))
    k.wait(30)
    k.ask(ClockSet(7200.0))
    k.say(cmd.AddWater(typed(50)))
    opened = next(place for place, event in enumerate(k.events) if isinstance(event, ev.BatchOpened))
    k.events = k.events[opened:]
    sheet = sheet_of(k)
    assert sheet.certain
    assert [round(line.moment.since_s) for line in sheet.lines] == [0, 0, 30, 30]

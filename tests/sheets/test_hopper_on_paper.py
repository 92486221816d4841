"""Additions and what was taken out, on the sheet and the label: told, not told, left out, as 0.1.0 wrote it.

Water contents: USDA SR28, whole egg 76.15 % (NDB 01123).
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.ports import Stamp
from assistant.sheets import Sheet, build_sheet, sheet_markdown, sheet_text
from assistant.sheets.allergens import KitchenAllergens
from assistant.sheets.label import label_of, label_text
from tests.batch.kitchen import REMEMBERS, Kitchen, typed
from tests.sheets.words import english

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)


def stamped(events: list[ev.Event]) -> list[tuple[Stamp, ev.Event]]:
    """A batch's events as a journal gives them, from the opening on."""
    first = next(place for place, event in enumerate(events) if isinstance(event, ev.BatchOpened))
    return [
        (Stamp(number, 1_768_000_000.0 + event.at, event.at, "boot", True), event)
        for number, event in enumerate(events[first:], 1)
    ]


def egg_batch(*said: cmd.Command) -> Kitchen:
    """1,000 g by the egg recipe, and what was said of it."""
    k = Kitchen(known=REMEMBERS)
    for command in (cmd.UseRecipe("egg"), cmd.NewBatch(typed(1000)), *said):
        k.say(command)
        k.now += 5
    return k


def sheet_of(k: Kitchen, change: Callable[[ev.Event], ev.Event] = lambda event: event) -> Sheet:
    """The sheet, its events changed before."""
    return build_sheet(stamped([change(event) for event in k.events]))


def facts(sheet: Sheet) -> dict[str, str]:
    """What is above the lines, by its label."""
    pairs = (line.split(":", 1) for line in sheet_text(sheet, english(), UTC).split("\n") if ":" in line)
    return {label.strip(): value.strip() for label, value in pairs}


def test_poured_and_carried_water_are_told_apart() -> None:
    """200 g of egg bring 152.3 g; with 157.7 g poured that is 310 g."""
    sheet = sheet_of(egg_batch(YES, cmd.PourRest()))
    found = facts(sheet)
    assert found["water"] == "310 g: 157.7 g poured + 152.3 g carried by whole egg"
    assert found["with"] == "200 g whole egg, 152.3 g of it water"
    assert found["dough"] == "1357.7 g"
    assert "not in" not in found
    text = sheet_text(sheet, english(), UTC)
    assert "whole egg 200 g, water 76.2 % of it" in text
    assert "15.2 %" in text, "hydration right after the egg"
    assert "poured + 152.3 g carried" in sheet_markdown(sheet, english(), UTC)


def test_what_was_corrected_or_taken_back_is_void() -> None:
    sheet = sheet_of(egg_batch(YES, cmd.MakeThat(typed(180))))
    assert facts(sheet)["with"] == "180 g whole egg, 137.1 g of it water"
    struck = [english().phrase(line.what) for line in sheet.lines if line.struck]
    assert struck == ["whole egg 200 g, water 76.2 % of it"]
    sheet = sheet_of(egg_batch(YES, cmd.Undo()))
    assert "with" not in facts(sheet)
    assert facts(sheet)["water"] == "0 g"


def test_what_nobody_told_of_is_named_and_declared() -> None:
    sheet = sheet_of(egg_batch(NO, cmd.AddWater(typed(100))))
    assert facts(sheet)["not in"] == "200 g whole egg, nobody said that it went in"
    assert "with" not in facts(sheet)
    assert "eggs" in label_text(label_of(sheet, english(), KitchenAllergens().of(sheet), zone=UTC))


def test_what_was_left_out_is_said_so() -> None:
    sheet = sheet_of(egg_batch(cmd.LeaveOut("egg")))
    assert "not in" not in facts(sheet)
    assert "whole egg left out" in sheet_text(sheet, english(), UTC)


def test_a_batch_of_0_1_0_prints_as_it_did() -> None:
    def as_before(event: ev.Event) -> ev.Event:
        return replace(event, additions_told=False) if isinstance(event, ev.BatchOpened) else event

    k = egg_batch(NO, cmd.AddWater(typed(157.7)))
    sheet = sheet_of(k, as_before)
    assert facts(sheet)["water"] == "310 g"
    assert facts(sheet)["with"] == "200 g whole egg, 152.3 g of it water"
    assert facts(sheet)["dough"] == "1357.7 g"


def test_dough_that_was_taken_out_has_its_line_and_its_flour() -> None:
    """300 g of 1,965 g: 229.01 g of it flour; 1,270.99 g and 394.01 g stayed (mass balance)."""
    k = Kitchen()
    for command in (cmd.NewBatch(typed(1500)), cmd.PourRest(), cmd.Mix(60), cmd.TookOut(typed(300))):
        k.say(command)
    sheet = sheet_of(k)
    found = facts(sheet)
    assert found["taken out"] == "300 g, 229 g of it flour; flour and water above are what stayed"
    assert (found["flour"], found["water"], found["hydration"]) == ("1271 g", "394 g", "31.0 %")
    assert found["dough"] == "1665 g"
    assert "taken out: dough 300 g" in sheet_text(sheet, english(), UTC)
    assert sheet.net_g == pytest.approx(1665)


def test_a_question_about_an_addition_stands_on_the_sheet_with_its_answer() -> None:
    text = sheet_text(sheet_of(egg_batch(NO)), english(), UTC)
    assert "asked: whole egg 200 g in?" in text
    assert "an addition was to come; no" in text

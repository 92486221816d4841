"""What the page on the wall shows, from the state: headline, bar, clocks, facts, question; and its words."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args
from zoneinfo import ZoneInfo

import pytest

from assistant.batch.record.commands import Verdict
from assistant.batch.record.phases import Phase
from assistant.batch.record.rules import NOTHING, BatchRules, Known
from assistant.batch.record.state import State, Timer
from assistant.board.board_words import BoardWords
from assistant.board.glance import Glance, LastWords
from assistant.board.wall.wall_view import WallView
from assistant.config.resources import grammar_folder
from assistant.dough.shift_plan import PlannedBatch
from assistant.errors import GrammarError
from assistant.station.station import Station
from tests.browser.wall_stand import words
from tests.station.stand import Stand, grammar, replies

ROME = ZoneInfo("Europe/Rome")
LANGUAGES = sorted(file.parent.name for file in grammar_folder().parent.glob("*/board.toml"))


def seen(stand: Stand, **changes: Any) -> dict[str, Any]:
    """What the page shows now."""
    glance = Glance(stand.station.state, stand.station.now, stand.clock.wall(), zone=ROME)
    return WallView(BatchRules(), replies(), words(), lambda: NOTHING)(replace(glance, **changes))


def after(*sentences: str) -> Stand:
    """A station to which this was said; +20 lets seconds pass."""
    stand = Stand()
    for one in sentences:
        if one.startswith("+"):
            stand.wait(float(one))
        else:
            stand.say(one)
    return stand


def sentences() -> list[str]:
    """Every sentence of the grammar's table of examples."""
    lines = (grammar_folder() / "examples.txt").read_text(encoding="utf-8").splitlines()
    said = [line.partition("=>")[0].partition("[")[0].strip() for line in lines if "=>" in line]
    assert len(said) > 500
    return said


def marks(view: dict[str, Any]) -> dict[str, float]:
    return {one["name"]: one["at"] for one in view["gauge"]["marks"]}


def test_while_water_is_poured_the_bar_shows_all_of_it() -> None:
    view = seen(after("new batch fifteen hundred", "water three thirty"))
    gauge = view["gauge"]
    assert (gauge["zoomed"], gauge["over"], gauge["from"]) == (False, False, "0 %")
    # 22 of 33 % is two thirds of the way to the high mark.
    assert gauge["fill"] == pytest.approx(marks(view)["high"] * 2 / 3, abs=1e-3)


def test_near_the_marks_the_bar_is_zoomed_on_them() -> None:
    # 450 g in 1,500 g is 30 %, the low mark.
    view = seen(after("new batch fifteen hundred", "water four fifty"))
    gauge, at = view["gauge"], marks(view)
    assert gauge["zoomed"]
    assert gauge["fill"] == pytest.approx(at["low"])
    assert at["high"] - at["low"] >= 0.4, "what decides has two fifths of the bar"
    assert at["low"] < at["target"] < at["high"] < 1
    assert [one["text"] for one in gauge["marks"]] == ["low 30", "target 31", "high 33 %"]


def test_over_high_has_a_shape_of_its_own() -> None:
    view = seen(after("new batch fifteen hundred", "water five hundred", "yes"))
    assert (view["gauge"]["over"], view["head"]["big"], view["head"]["unit"]) == (True, "5", "g over high")
    assert view["head"]["then"] == "add 16 g flour"


def test_the_page_says_what_the_voice_says_next() -> None:
    stand = after("new batch fifteen hundred")
    for sentence, figure in (("water three thirty", "330"), ("mix", "")):
        head = seen(stand)["head"]
        assert figure in head["big"]
        assert figure in {"330": stand.say("what next").replace("three thirty", "330")}.get(figure, "")
        stand.say(sentence)
    assert seen(stand)["head"]["due"] == pytest.approx(120)


def test_a_hand_goes_in_only_behind_switching_off() -> None:
    # ISO 12100 and 29 CFR 1910.147 leave isolation to the person: the switch is named first.
    stand = after("new batch fifteen hundred", "water three thirty", "mix", "+121")
    head = seen(stand)["head"]
    assert (head["lead"], head["big"]) == ("switch off first", "squeeze")


def test_a_plan_is_shown_with_its_time() -> None:
    known = Known(plan=(PlannedBatch("day/1", "rigatoni", None, 1500.0, 465.0, 14, "16:30"),))
    view = WallView(BatchRules(), replies(), words(), lambda: known)(Glance(State(), 0.0, 0.0))
    head = view["head"]
    assert (head["lead"], head["big"], head["unit"]) == ("at 16:30", "1500", "g of flour, rigatoni")


def test_clocks_come_in_the_order_of_urgency_and_say_how_sure_they_are() -> None:
    timers = (
        Timer("mix", "mix", 120.0, 165.0, certain=False),
        Timer("tray 4.2", "tray", 14_400.0, 3_790.0),
        Timer("sauce", "named", 60.0, 50.0, ringing=True),
        Timer("three", "named", 60.0, 120.0),
    )
    stand = Stand()
    clocks = seen(stand, state=State(timers=timers), now=100.0)["clocks"]
    assert [(one["name"], one["how"], one["due"]) for one in clocks] == [
        ("sauce", "ringing", 50.0),
        ("three", "sure", 120.0),
        ("mix", "unsure", 165.0),
        ("tray 4.2", "sure", 3790.0),
    ]
    # It is 08:00 in Rome, and 3,690 s are left.
    assert clocks[3]["by"] == "cold by 09:01"


def test_without_a_clock_to_trust_no_time_of_day_is_named() -> None:
    view = seen(after("new batch fifteen hundred", "water three thirty"), wall_trusted=False)
    assert [one["by"] for one in view["clocks"]] == ["", ""]


def test_what_is_in_the_dough_is_named() -> None:
    facts = seen(after("new batch fifteen hundred", "new die rigatoni"))["facts"]
    # Semolina is wheat: Regulation (EU) 1169/2011, Annex II.
    assert facts == ["rigatoni die", "contains wheat"]


def test_an_open_question_is_shown_with_what_answers_it() -> None:
    stand = after("new batch fifteen hundred", "water six hundred")
    question = seen(stand, last=LastWords(question="Six hundred? Log it?"))["question"]
    assert (question["text"], question["answers"]) == ("Six hundred? Log it?", ["yes", "no"])
    question = seen(after("new batch"))["question"]
    assert (question["answers"], question["wanted"]) == ([], "say an amount: two kilos")


def test_a_station_that_is_gone_has_no_question_and_no_ring() -> None:
    stand = after("new batch fifteen hundred", "timer two one minute", "+61", "water six hundred")
    view = seen(stand, gone_at=stand.clock.wall())
    assert (view["hearing"], view["question"], view["ringing"]) == ("gone", None, [])
    assert view["hearing_text"] == "station gone since 08:01"


def test_nothing_in_it_moves_with_time_alone() -> None:
    stand = after("new batch fifteen hundred", "water three thirty", "mix", "timer two ten minutes", "+20")
    before = seen(stand)
    stand.clock.move(7.3)
    assert seen(stand) == before


def test_whatever_was_said_there_is_something_to_show() -> None:
    # All sentences of the grammar's table, one after the other, to one station and to a fresh batch each.
    stand, lines = Stand(), sentences()
    for line in lines:
        stand.say(line)
        view = seen(stand)
        assert view["head"]["big"] or view["head"]["due"]
        stand.wait(0.5)
    for line in lines[::4]:
        fresh = after("new batch fifteen hundred", "water three thirty", line)
        head = seen(fresh)["head"]
        assert head["big"] or head["due"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_a_word_for_every_phase_and_verdict(language: str) -> None:
    table = tomllib.loads((grammar_folder(language) / "board.toml").read_text(encoding="utf-8"))
    assert set(table["words"]["phase"]) == {phase.value for phase in Phase}
    assert set(table["words"]["crumb"]) == set(get_args(Verdict))


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_largest_is_short_enough_for_a_small_panel(language: str) -> None:
    table = tomllib.loads((grammar_folder(language) / "board.toml").read_text(encoding="utf-8"))
    for name in ("squeeze", "extrude", "open"):
        assert len(table["head"][name].rpartition(": ")[2]) <= 9
    assert {key: text for key, text in table["then"].items() if len(re.sub(r"{.*?}", "00", text)) > 18} == {}


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('page.lows = "x"', "the page has no wording for 'page.lows'; remove it or mend its name"),
        ('timer.unsure = "{minutes:name}"', "timer.unsure: value 'minutes' is not known here; it has time"),
    ],
)
def test_a_wording_that_can_not_be_used_is_one_clear_line(tmp_path: Path, text: str, line: str) -> None:
    own = tmp_path / "board.toml"
    own.write_text(text)
    with pytest.raises(GrammarError) as caught:
        BoardWords.load(grammar_folder() / "board.toml", own)
    assert str(caught.value) == f"{own}: {line}"


def test_a_kitchens_wordings_of_the_page_before_are_still_read(tmp_path: Path) -> None:
    own = tmp_path / "board.toml"
    own.write_text(
        'page.low = "least"\nstatus.asking = "answer"\nunit.left = "to go"\ntimer.sure = "{time:name}"\n'
        'timer.cold = "cold"\nbatch.exit = "hot"\n'
        'batch.account.none = "{hydration_pct:number} %"\n'
    )
    changed = BoardWords.load(grammar_folder() / "board.toml", own)
    assert changed.text("batch.account", hydration_pct=3, crumb=None) == "3 %"


def test_grammar_and_station_are_those_that_ship() -> None:
    assert grammar().parse("what next") is not None
    assert isinstance(Stand().station, Station)

"""Lots from the journal and the shelf: records, forecasts for the engine, `crumbcall lots`, the figure."""

import json
import xml.etree.ElementTree as ET
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from assistant.app.application import open_application
from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record import events as ev
from assistant.batch.record.announcements import say
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from assistant.cli import crumbcall
from assistant.clock import ScriptedClock
from assistant.config.flour_lots import StockedLot
from assistant.config.home import Home
from assistant.config.pantry import Pantry
from assistant.config.recipes import Recipes
from assistant.dough.amounts import Amount
from assistant.dough.evidence import Bounds
from assistant.errors import DoughError, JournalError, SettingsError
from assistant.journal.reader import JournalReader
from assistant.journal.store import SqliteJournal
from assistant.journal.summaries import LotBatch
from assistant.sheets import build_sheet, sheet_text
from assistant.station.forecasts import FlourBook, record_name, records
from tests.sheets.words import english

WALL = 1_772_000_000.0


def kitchen(home: Path, *batches: tuple[str, float]) -> None:
    """Journal of batches of 1,500 g: lot and the hydration at which the crumb is ready."""
    clock = ScriptedClock(wall=WALL)
    with closing(SqliteJournal.open(home / "journal.sqlite", clock)) as journal:
        state, _ = journal.load()
        for lot, end in batches:
            for command in (
                cmd.SetLot(lot),
                cmd.NewBatch(Amount(1500, exact=True)),
                cmd.AddWater(Amount(round(15 * (end - 0.8)), exact=True)),
                cmd.JudgeCrumb("dry"),
                cmd.AddWater(Amount(12, exact=True)),
                cmd.JudgeCrumb("ready"),
                cmd.Extruding(),
                cmd.CloseBatch(),
            ):
                clock.move(600)
                decision = decide(state, Said(command), clock.monotonic(), BatchRules())
                journal.append(decision.events)
                for event in decision.events:
                    state = evolve(state, event)
            assert state.batch is None


def lots(home: Path, *arguments: str) -> str:
    result = CliRunner().invoke(
        crumbcall, ["--home", str(home), "lots", *arguments], standalone_mode=False, catch_exceptions=False
    )
    return result.output.strip()


def test_records_keep_recipes_apart_and_know_the_shelf() -> None:
    day = 86_400.0
    batches = [
        LotBatch(1, "12", None, 3 * day, 31.0, (("dry", 30.4), ("ready", 31.0))),
        LotBatch(2, "12", "egg", 4 * day, 29.0, (("ready", 29.0),)),
        LotBatch(3, "12", "plain", 5 * day, 31.2, (("ready", 31.2),)),
    ]
    plain, egg = records(batches, {"12": StockedLot("semolina", moisture_pct=13.5)})
    assert (plain.lot, plain.flour, plain.moisture_pct) == ("12", "semolina", 13.5)
    assert [(one.batch, one.day) for one in plain.seen] == [(1, 3.0), (3, 5.0)]
    assert plain.seen[0].bounds == Bounds(30.4, 31.0)
    assert (egg.lot, egg.flour, len(egg.seen)) == ("12 egg", "semolina egg", 1)
    assert record_name("12", "plain") == record_name("12", None) == "12"


def test_what_was_confirmed_far_outside_the_marks_teaches_nothing() -> None:
    doubtful, closed_far = (
        LotBatch(1, "12", None, 0.0, 22.0, (("doubtful", 22.0),)),
        LotBatch(2, "12", None, 0.0, 22.0, (), far=True),
    )
    assert records([doubtful, closed_far], {}) == []
    # A verdict that followed says what the doubtful one did not.
    mended = LotBatch(3, "12", None, 0.0, 31.0, (("doubtful", 22.0), ("dry", 30.4), ("ready", 31.0)))
    (record,) = records([doubtful, mended], {})
    assert [one.bounds for one in record.seen] == [Bounds(30.4, 31.0)]
    assert [one.ready_pct for one in record.seen] == [31.0]


def told(home: Path, *said: str) -> list[str]:
    """Keys of what is answered to the last of these."""
    station, journal, _ = open_application(Home.find(home)).open_station(ScriptedClock(wall=WALL))
    with closing(journal):
        replies = [station.hear(one, source="keyboard").replies for one in said]
    return [reply.key for reply in replies[-1]]


def test_a_lot_that_climbs_five_batches_running_is_called_once(tmp_path: Path) -> None:
    kitchen(tmp_path, *[("12", 30.6 + 0.2 * k) for k in range(4)])
    assert "lot_climbs" not in told(tmp_path, "lot 12")
    kitchen(tmp_path, ("12", 31.6))
    assert told(tmp_path, "lot 12")[0] == "lot_climbs"
    assert told(tmp_path, "new batch 1500")[0] == "batch_opened"
    assert "climbed 5 batches running" in lots(tmp_path)
    assert json.loads(lots(tmp_path, "12", "--json"))["climbed_batches"] == 5
    told(tmp_path, "drop batch")
    kitchen(tmp_path, ("12", 31.9))
    assert told(tmp_path, "lot 12")[0] == "lot_likely"


def test_a_batch_that_says_nothing_of_its_lot_is_shown_and_not_counted(tmp_path: Path) -> None:
    kitchen(tmp_path, ("12", 31.0))
    told(tmp_path, "lot 12", "new batch 1500", "water 330", "crumb ready", "yes", "close batch", "yes")
    assert "batch 2: 22.0 % (doubtful at 22.0), far outside its marks: not counted" in lots(tmp_path, "12")
    assert json.loads(lots(tmp_path, "12", "--json"))["batches"] == 1
    told(tmp_path, "undo", "water 135", "crumb ready", "close batch")
    assert json.loads(lots(tmp_path, "12", "--json"))["batches"] == 2


def test_the_book_is_read_anew_when_told_to() -> None:
    class Batches:
        asked = 0

        def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
            assert lots > 0 < batches
            assert also == "12"
            self.asked += 1
            return [LotBatch(1, "12", None, WALL, 31.8, (("dry", 31.2), ("ready", 31.8)))] * self.asked

    source = Batches()
    book = FlourBook(source, {}, lambda: WALL + 60, 31.0)
    assert batches(book) == batches(book, "plain") == 1
    book.follow([ev.LotNamed(at=1.0, lot="12")])
    assert batches(book) == source.asked == 1
    for event in (ev.BatchClosed(at=2.0), ev.Withdrawn(at=3.0, what="BatchClosed", grams=None)):
        book.follow([event])
        before = source.asked
        assert batches(book) == before + 1


def batches(book: FlourBook, recipe: str | None = None) -> int:
    found = book("12", recipe)
    assert found is not None
    return found.batches


def test_a_journal_that_can_not_be_read_leaves_the_house_rules() -> None:
    class Broken:
        def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
            raise JournalError(f"the disk fails at {lots}, {batches}, {also}")

    assert FlourBook(Broken(), {}, lambda: WALL, 31.0)("12", None) is None


def test_the_first_pour_of_an_egg_dough_is_the_one_that_the_station_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """200 g of whole egg per kilo bring 152.3 g of water (USDA SR28 NDB 01123, 76.15 %)."""
    monkeypatch.setattr("assistant.cli.record.lots.real_clock", lambda: ScriptedClock(wall=WALL))
    begin = ("recipe egg", "lot 12", "new batch 1500")
    told(tmp_path, *begin, "egg in", "water 200", "crumb dry", "water 20", "crumb ready", "close batch")
    station, journal, _ = open_application(Home.find(tmp_path)).open_station(ScriptedClock(wall=WALL))
    with closing(journal):
        (*_, said) = [station.hear(one, source="keyboard").replies for one in (*begin, "egg in")]
        assert said[-1].key == "first_pour"
        assert station.state.batch is not None
        named = station.state.batch.to_first_pour_g
    (lot,) = json.loads(lots(tmp_path, "--json", "--flour", "1500"))["lots"]
    assert lot["lot"] == "12 egg"
    assert lot["first_pour_g"] == named
    # At 31 % 465 g in all, 228.5 of it in the egg: no more than 236.5 is left to pour.
    assert 0 < named <= 235
    assert f"First pour {named:.0f} g beside the whole egg for 1500 g of flour" in lots(tmp_path, "12")


def test_the_table_and_one_lot(tmp_path: Path) -> None:
    kitchen(tmp_path, *[("12", 31.8 + 0.1 * (k % 3)) for k in range(9)], ("7", 30.6))
    (tmp_path / "lots.toml").write_text(
        '[12]\nflour = "semolina"\nsupplier = "M-04"\nbest_before = 2026-01-31\n', encoding="utf-8"
    )
    head, first, second, tail = lots(tmp_path).splitlines()
    assert head.split() == ["lot", "flour", "batches", "likely", "90", "%", "first", "pour"]
    assert first.split()[:3] == ["7", "flour", "1"]
    assert second.split()[:3] == ["12", "semolina", "9"]
    assert second.endswith("best before 2026-01-31 is past")
    assert tail.endswith("the cook decides.")
    text = lots(tmp_path, "12")
    assert "batch 9: 32.0 % (dry at 31.2, ready at 32.0)" in text
    assert "Lot 12: likely 31." in text
    assert "9 batches. First pour" in text
    found = json.loads(lots(tmp_path, "12", "--json", "--flour", "1000"))
    assert found["batches"] == 9
    assert found["low_pct"] < found["likely_pct"] < found["high_pct"]
    assert found["first_pour_g"] == pytest.approx(found["first_pour_pct"] * 10, abs=5)
    assert found["first_pour_g"] % 5 == 0
    assert found["stocked"]["supplier"] == "M-04"
    assert len(found["history"]) == 9
    assert {lot["lot"] for lot in json.loads(lots(tmp_path, "--json"))["lots"]} == {"7", "12"}
    assert "semolina" in lots(tmp_path, "--seasons")
    assert json.loads(lots(tmp_path, "--seasons", "--json"))["seasons"][0]["lots"] == 1


def test_one_lot_in_another_recipe_is_told_apart(tmp_path: Path) -> None:
    station, journal, _ = open_application(Home.find(tmp_path)).open_station(ScriptedClock(wall=WALL))
    with closing(journal):
        for recipe in ("recipe plain", "recipe egg"):
            for said in (
                recipe,
                "lot 12",
                "new batch 1500",
                *(["egg in"] if recipe == "recipe egg" else []),
                "poured the rest",
                "dough 28 degrees",
                "crumb ready",
                "close batch",
            ):
                station.hear(said, source="keyboard")
    text = lots(tmp_path, "12")
    assert "batch 2, egg: 31.0 % (ready at 31.0)" in text
    assert "Lot 12: likely" in text
    assert "Lot 12 egg: likely" in text
    assert json.loads(lots(tmp_path, "12", "--json"))["history"][1]["told"] == {"dough": 28.0}


def test_a_lot_that_nobody_used_is_not_claimed_to_be_known(tmp_path: Path) -> None:
    kitchen(tmp_path, ("12", 31.8))
    assert "nothing is known of this lot" in lots(tmp_path, "99")
    assert json.loads(lots(tmp_path, "99", "--json"))["batches"] == 0


def test_no_lots_yet(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="there is no journal yet"):
        lots(tmp_path)
    kitchen(tmp_path)
    assert lots(tmp_path) == (
        "No closed batch names its lot yet; say: lot, and its digits, before a batch is closed."
    )


def test_a_figure_is_drawn(tmp_path: Path) -> None:
    kitchen(tmp_path, *[("12", 31.8)] * 4)
    lots(tmp_path, "12", "--figure", str(tmp_path / "lot.svg"))
    root = ET.fromstring((tmp_path / "lot.svg").read_text(encoding="utf-8"))
    texts = [one.text for one in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "Lot 12, flour: 4 batches" in texts
    assert {"1", "2", "3", "4", "batch"} <= set(texts)
    lots(tmp_path, "--figure", str(tmp_path / "lots.png"))
    assert (tmp_path / "lots.png").stat().st_size > 1000
    with pytest.raises(DoughError, match="--figure draws lots, and --seasons has none"):
        lots(tmp_path, "--seasons", "--figure", "x.svg")
    with pytest.raises(SettingsError, match=r"can't be written \(No such file or directory\)"):
        lots(tmp_path, "12", "--figure", str(tmp_path / "none" / "lot.svg"))


def test_the_sheet_counts_the_water_of_a_recipe(tmp_path: Path) -> None:
    """Source of the egg's water: USDA SR28 NDB 01123, 76.15 %."""
    station, journal, _ = open_application(Home.find(tmp_path)).open_station(ScriptedClock(wall=WALL))
    with closing(journal):
        for said in (
            "recipe egg",
            "new batch 1000",
            "make that 1500",
            "egg in",
            "poured the rest",
            "crumb ready",
            "close batch",
        ):
            station.hear(said, source="keyboard")
        sheet = build_sheet(journal.batch(1))
        (line,) = journal.batches()
    assert sheet.hydration_pct == pytest.approx(31.0)
    assert sheet.water_g == pytest.approx(465)
    assert sheet.dough_g == pytest.approx(1500 + 465 + 300 - 228.45)
    assert line.recipe == "egg"
    assert line.hydration_pct == pytest.approx(31.0)
    text = sheet_text(sheet, english())
    assert "egg; allergens by its file: wheat, egg" in text
    assert "300 g whole egg, 228.4 g of it water" in text
    assert "465 g: 236.6 g poured + 228.4 g carried by whole egg" in text


def test_the_station_answers_a_lot_from_its_own_journal(tmp_path: Path) -> None:
    kitchen(tmp_path, *[("12", 31.8)] * 9)
    station, journal, _ = open_application(Home.find(tmp_path)).open_station(ScriptedClock(wall=WALL + 1e6))
    with closing(journal):
        likely, pour = (reply.text for reply in station.hear("lot twelve").replies)
        assert likely.startswith("Lot one two: likely thirty-one")
        assert likely.endswith(" percent.")
        assert pour.startswith("Pour to thirty")
        station.hear("new batch 1500", source="keyboard")
        batch = station.state.batch
        assert batch is not None
        assert 435 <= batch.first_pour_g <= 465
        for said in ("water 465", "crumb ready", "close batch"):
            station.hear(said, source="keyboard")
        if station.asking:
            station.hear("yes")
        assert station.hear("lot twelve").replies[0].key == "lot_likely"


LATER = WALL + 86_400.0


def book(batches: list[LotBatch], **given: Any) -> FlourBook:
    class Batches:
        def lot_batches(self, lots: int = 12, batches: int = 40, also: str | None = None) -> list[LotBatch]:
            assert (lots, batches) == (8, 24), also
            return made

    made = batches
    return FlourBook(Batches(), given.pop("stock", {}), lambda: LATER, 31.0, **given)


def batch(number: int, lot: str, end: float, recipe: str | None = None, **more: Any) -> LotBatch:
    return LotBatch(number, lot, recipe, WALL, end, (("dry", end - 0.6), ("ready", end)), **more)


def test_a_flour_of_which_nothing_is_known_is_expected_where_its_recipe_aims() -> None:
    """The wholegrain recipe that ships aims at 33 %: assistant/config/data/recipes/wholegrain.toml."""
    plans = Recipes.load(Pantry.load(Path("none"))).plans
    found = book([], plans=plans)
    assert found.forecast("9", "wholegrain").likely_pct == pytest.approx(33.0, abs=0.01)
    assert found.forecast("9").likely_pct == pytest.approx(31.0, abs=0.01)
    stock = {"9": StockedLot("Wholegrain durum"), "8": StockedLot("semolina"), "7": StockedLot("spelt")}
    stocked = book([], plans=plans, stock=stock)
    likely = {lot: stocked.forecast(lot).likely_pct for lot in stock}
    expected = {"9": 33.0, "8": 31.0, "7": 31.0}
    assert likely == {lot: pytest.approx(pct, abs=0.01) for lot, pct in expected.items()}
    assert stocked.forecast("9", "no more").likely_pct == pytest.approx(31.0, abs=0.01)


def test_a_new_lot_leans_on_the_lots_of_its_supplier() -> None:
    """Lots of M end at 30.2, those of K at 31.8; a new one of each is expected there, another between."""
    made = [batch(k, f"m{k % 4}", 30.2) for k in range(24)] + [
        batch(k, f"k{k % 4}", 31.8) for k in range(24, 48)
    ]
    stock = {f"{one}{k}": StockedLot("semolina", one.upper()) for one in "mk" for k in range(5)}
    found = book(made, stock=stock | {"x": StockedLot("semolina", "new")})
    m, k, x = (found.forecast(lot).likely_pct for lot in ("m4", "k4", "x"))
    assert m < 30.7 < x < 31.3 < k


def test_the_moisture_of_a_lot_counts_before_its_first_batch() -> None:
    """31 % at 14 % is 32.523 at 13 % moisture: mass balance, D (shared table of the trade)."""
    found = book([], stock={"9": StockedLot(moisture_pct=13.0)})
    assert found.forecast("9").likely_pct == pytest.approx(32.523, abs=0.01)


def test_a_batch_that_nobody_squeezed_teaches_nothing() -> None:
    made = [batch(k, "12", 31.8) for k in range(6)]
    unsqueezed = [LotBatch(9 + k, "12", None, WALL, 29.0) for k in range(12)]
    before, after = (book(some).forecast("12") for some in (made, [*made, *unsqueezed]))
    assert (before.likely_pct, before.batches) == (after.likely_pct, after.batches)


def test_cook_and_air_come_from_the_journal() -> None:
    made = [
        replace(batch(k, "12", 31.0 + late), cook=cook, conditions=(("humidity", 50.0 + k),))
        for k, (cook, late) in enumerate([("a", 0.0), ("b", 0.0), ("c", 0.6)] * 8)
    ]
    (record,) = records(made, {})
    assert [one.cook for one in record.seen[:3]] == ["a", "b", "c"]
    assert record.seen[4].humidity_pct == 54.0
    assert book(made, cook="c").forecast("12").bias_pct > book(made, cook="a").forecast("12").bias_pct + 0.2
    assert book(made).forecast("12", None, 80.0).likely_pct != book(made).forecast("12").likely_pct


def test_the_cook_of_the_settings_is_written_with_each_verdict(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('[batch]\ncook = "M 2"\n', encoding="utf-8")
    told(tmp_path, "lot 12", "new batch 1500", "water 450", "crumb ready", "close batch")
    with closing(SqliteJournal.open(tmp_path / "journal.sqlite", ScriptedClock(wall=WALL))) as journal:
        assert [one.cook for one in journal.lot_batches()] == ["M 2"]


def test_lots_and_station_say_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nine lots, and thirty batches of one: more than is learned from, and both leave out the same."""
    monkeypatch.setattr("assistant.cli.record.lots.real_clock", lambda: ScriptedClock(wall=LATER))
    kitchen(tmp_path, *[("12", 31.8 + 0.1 * (k % 3)) for k in range(30)], *[(str(k), 30.6) for k in range(9)])
    app = open_application(Home.find(tmp_path))
    station, journal, _ = app.open_station(ScriptedClock(wall=LATER))
    with closing(journal):
        for lot in ("12", "3"):
            likely, first = station.hear(f"lot {lot}", source="keyboard").replies
            found = json.loads(lots(tmp_path, lot, "--json"))
            figures = {"lot": lot, "hydration": found["likely_pct"], "batches": found["batches"]}
            assert likely.text == app.replies.render(say("lot_likely", **figures))
            assert first.text == app.replies.render(
                say("lot_first_pour_pct", hydration=found["first_pour_pct"])
            )


def test_a_lot_that_moves_is_told_once_and_noted_in_the_table(tmp_path: Path) -> None:
    def news() -> bool:
        with JournalReader.open(tmp_path / "journal.sqlite") as journal:
            return FlourBook(journal, {}, lambda: LATER, 31.0).forecast("12").moved_now

    kitchen(tmp_path, *[("12", 31.0 + 0.1 * (k % 3)) for k in range(10)])
    heard = [news()]
    for _ in range(7):
        kitchen(tmp_path, ("12", 32.2))
        heard.append(news())
    assert heard.count(True) == 1
    assert not heard[0]
    assert "takes more than it did" in lots(tmp_path)
    assert json.loads(lots(tmp_path, "12", "--json"))["drift_points"] > 0.5

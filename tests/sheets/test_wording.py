"""The words of the sheets: one for all there is to say; a file that can't be used is one clear line."""

import tomllib
from pathlib import Path
from typing import Any, get_args

import pytest

from assistant.batch.record import commands as cmd
from assistant.batch.record.events import Reason, Source
from assistant.batch.record.evolving.transitions import TABLE
from assistant.batch.record.hopper.entries import EntryKind
from assistant.config.allergens.lists import ALLERGENS
from assistant.config.home import Home
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount, Unit
from assistant.errors import GrammarError
from assistant.journal.summaries import Outcome
from assistant.sheets import SheetWords
from assistant.sheets.lines import DETAILS
from tests.sheets.words import english

SHIPPED = grammar_folder() / "sheets.toml"
LANGUAGES = sorted(SHIPPED.parents[1].glob("*/sheets.toml"))


def table(path: Path = SHIPPED) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_what_shows_more_than_its_line_has_a_line() -> None:
    assert all(TABLE[event].line is not None for event in DETAILS)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("crumb", get_args(cmd.Verdict)),
        ("entry", get_args(EntryKind)),
        ("source", get_args(Source)),
        ("condition", get_args(cmd.Condition)),
        ("reason", get_args(Reason)),
        ("outcome", get_args(Outcome)),
        ("unit", get_args(Unit)),
        ("topic", get_args(cmd.Topic)),
        ("move", get_args(cmd.Move)),
        ("allergen", ALLERGENS),
    ],
)
@pytest.mark.parametrize("language", LANGUAGES, ids=lambda path: path.parent.name)
def test_every_value_of_a_closed_list_has_its_word(
    language: Path, name: str, values: tuple[str, ...]
) -> None:
    assert set(table(language)["words"][name]) == set(values)


AMOUNT = Amount(1.25, "kg")
SAID: list[tuple[cmd.Command, str]] = [
    (cmd.NewBatch(AMOUNT), "new batch 1.25 kg"),
    (cmd.SameAgain(), "same again"),
    (cmd.SetTarget(31.5), "target 31.5 %"),
    (cmd.SetLot("4471"), "lot 4471"),
    (cmd.UseRecipe("egg"), "recipe egg"),
    (cmd.TellCondition("dough", 25.0), "dough 25 C"),
    (cmd.TellCondition("kitchen", 22.5), "kitchen 22.5 C"),
    (cmd.TellCondition("humidity", 60.0), "humidity 60 %"),
    (cmd.AddWater(Amount(0.15, "l")), "water 0.15 l"),
    (cmd.PourRest(), "pour rest"),
    (cmd.AddFlour(Amount(200.0)), "flour 200 g"),
    (cmd.AddAddition("whole egg"), "whole egg in"),
    (cmd.AddAddition("whole egg", Amount(180.0)), "whole egg 180 g in"),
    (cmd.LeaveOut("whole egg"), "without whole egg"),
    (cmd.TookOut(Amount(300.0)), "took out 300 g"),
    (cmd.TookOut(Amount(200.0), "flour"), "took out 200 g of flour"),
    (cmd.TookOut(Amount(50.0), "water"), "took out 50 g of water"),
    (cmd.MakeThat(Amount(115.0)), "make that 115 g"),
    (cmd.Undo(), "undo"),
    (cmd.JudgeCrumb("ready"), "crumb ready"),
    (cmd.CloseBatch(), "close batch"),
    (cmd.DropBatch(), "drop batch"),
    (cmd.Ask("left"), "ask left"),
    (cmd.SayAgain(), "say again"),
    (cmd.Mix(), "mix"),
    (cmd.Mix(90.0), "mix 1:30"),
    (cmd.Rest(), "rest"),
    (cmd.Rest(300.0), "rest 5:00"),
    (cmd.PrepRest(600.0), "prep rest 10:00"),
    (cmd.SetTimer("sauce", 600.0), "timer sauce 10:00"),
    (cmd.Walk("clean down"), "walk clean down"),
    (cmd.WalkMove("skip"), "walk move skip"),
    (cmd.DieWarm(), "die warm"),
    (cmd.DieClean(), "die cleaned"),
    (cmd.TrayCold(), "tray cold"),
    (cmd.TrayCold(2), "tray cold 2"),
    (cmd.TraysCold(), "all trays cold"),
    (cmd.Cook("penne"), "cook penne"),
    (cmd.CleanDownDone(), "clean down done"),
    (cmd.WhoCooks("Ada"), "Ada is cooking"),
    (cmd.WhoCooks(), "who is cooking"),
    (cmd.ClockTold(6, 10), "what time it is"),
    (cmd.Cutter("speed", 40.0), "cutter speed 40"),
    (cmd.Cutter("length", 35.0), "cutter length 35 mm"),
    (cmd.Cutter("want", 30.0), "cutter want 30 mm"),
    (cmd.StopTimer(), "stop timer"),
    (cmd.StopTimer("sauce"), "stop timer sauce"),
    (cmd.AddTime(30.0), "add time 0:30"),
    (cmd.AddTime(30.0, "sauce"), "add time 0:30 sauce"),
    (cmd.GotIt(), "got it"),
    (cmd.Mixer(on=True), "mixer on"),
    (cmd.Mixer(on=False), "mixer off"),
    (cmd.MachineQuestion(), "about the machine"),
    (cmd.Extruding(), "extruding"),
    (cmd.NewDie("rigatoni"), "new die rigatoni"),
    (cmd.Scrap(Amount(40.0)), "scrap 40 g"),
    (cmd.TrayDone(), "tray done"),
    (cmd.TrayStored(), "tray in the fridge"),
    (cmd.TrayStored(2), "tray 2 in the fridge"),
    (cmd.Cancel(), "cancel"),
    (cmd.Portions(12), "portions 12"),
    (cmd.Loudness(1), "louder"),
    (cmd.Loudness(-1), "softer"),
    (cmd.Pace(1), "faster"),
    (cmd.Pace(-1), "slower"),
    (cmd.Listening(on=True), "ears on"),
    (cmd.Listening(on=False), "ears off"),
    (cmd.Practice(on=True), "practice"),
    (cmd.Practice(on=False), "stop practice"),
    (cmd.Print("label", 2), "print label"),
    (cmd.Print("labels"), "print labels"),
    (cmd.Print("sheet"), "print sheet"),
    (cmd.Print("day"), "print day sheet"),
    (cmd.Print("again"), "print again"),
    (cmd.ZeroJug(), "zero jug"),
    (cmd.ReadJug(), "read jug"),
    (cmd.Calibrate(), "calibrate"),
    (cmd.GivenAmount(AMOUNT), "1.25 kg"),
    (cmd.GivenTime(90.0), "1:30"),
    (cmd.GivenPercent(31.5), "31.5 %"),
    (cmd.GivenCount(12), "12"),
    (cmd.GivenLot("12"), "lot 12"),
    (cmd.GivenRecipe("egg"), "egg"),
    (cmd.GivenShape("rigatoni"), "rigatoni"),
    (cmd.GivenTimer("3"), "timer 3"),
    (cmd.GivenTray("full"), "full"),
    (cmd.GivenTray("cold"), "at five degrees"),
    (cmd.Together((cmd.AddWater(AMOUNT), cmd.Mix(90.0))), "water 1.25 kg, mix 1:30"),
    (cmd.Answer(yes=True), "yes"),
    (cmd.Answer(yes=False), "no"),
    (cmd.Incomplete("water", "number"), "water without its number"),
    (cmd.Incomplete("mix", "unit"), "mix without its unit"),
]


@pytest.mark.parametrize(("command", "text"), SAID, ids=[text for _, text in SAID])
def test_a_command_is_shown_in_its_own_units(command: cmd.Command, text: str) -> None:
    assert english().command(command) == text


def test_no_command_is_left_out() -> None:
    assert {type(command) for command, _ in SAID} == set(cmd.COMMANDS.values())


def test_a_language_writes_its_own_decimal_mark_and_units(tmp_path: Path) -> None:
    own = tmp_path / "sheets.toml"
    own.write_text('[units]\ndecimal_mark = ","\nmass = "{value:number} gr"\n')
    words = SheetWords.load(SHIPPED, own)
    assert (words.mass(307.6), words.percent(31.0)) == ("307,6 gr", "31,0 %")
    assert words.command(cmd.TellCondition("dough", 25.25)) == "dough 25,25 C"


def test_a_kitchen_changes_single_words(tmp_path: Path) -> None:
    folder = tmp_path / "grammar" / "en"
    folder.mkdir(parents=True)
    (folder / "sheets.toml").write_text('facts.no_lot = "no lot"\ncommands.mix.none = "mix, as usual"\n')
    words = SheetWords.of(Home(tmp_path, tmp_path), "en")
    assert words.text("facts.no_lot") == "no lot"
    assert [words.command(cmd.Mix(seconds)) for seconds in (None, 60.0)] == ["mix, as usual", "mix 1:00"]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            '[lines]\nwaters = "x"',
            "no sheet has a wording for 'lines.waters'; remove it or mend its name",
        ),
        ('line = "x"', "no sheet has a wording for 'line'; remove it or mend its name"),
        (
            '[lines]\nwater = "water {gram:mass}"',
            "lines.water: value 'gram' is not known here; it has entry, grams, kind, source",
        ),
        (
            '[lines]\nwater = "water {grams:name}"',
            "lines.water: grams can't be written as 'name'; "
            "write figure, length, mass, number, one_decimal, percent",
        ),
        (
            '[commands]\ncrumb = "{verdict:name}"',
            "commands.crumb: verdict can't be written as 'name'; write crumb",
        ),
        ("[facts]\nno_lot = 5", "facts.no_lot: 5 is not a sentence; write it in quotes"),
        (
            '[lines]\nlot.by = "flour"',
            "lines.lot.by: 'flour' is not a value of it; it has carried_over, first_pour_g, gluten_free, "
            "granulation, lot",
        ),
    ],
)
def test_a_wording_that_can_not_be_used_is_one_clear_line(tmp_path: Path, text: str, line: str) -> None:
    own = tmp_path / "sheets.toml"
    own.write_text(text)
    with pytest.raises(GrammarError) as caught:
        SheetWords.load(SHIPPED, own)
    assert str(caught.value) == f"{own}: {line}"


def test_a_file_that_lacks_a_word_is_one_clear_line(tmp_path: Path) -> None:
    own = tmp_path / "sheets.toml"
    own.write_text(SHIPPED.read_text().replace("\ndiffers = ", "\n# differs = "))
    with pytest.raises(GrammarError) as caught:
        SheetWords.load(own)
    assert str(caught.value) == f"{own}: no wording for words.reason.differs; add it"


def test_a_kitchens_file_that_has_what_there_was_once_is_read_without_it(tmp_path: Path) -> None:
    own = tmp_path / "sheets.toml"
    own.write_text(
        '[cautions.dust]\ntext = "x"\n[label]\nkeep = "y"\nbatch.by = "tray"\nbatch.other = "{tray:number}"\n'
        '[label.head]\nmind = "m"\n[allergens.plainly]\negg = "oeuf"\n[allergens.trap.ink]\nwords = "i"\n'
    )
    assert SheetWords.load(SHIPPED, own).text("label.any_die") == "fresh pasta"
    own.write_text('[cautions.dusty]\ntext = "x"\n')
    with pytest.raises(GrammarError, match=r"no sheet has a wording for 'cautions\.dusty"):
        SheetWords.load(SHIPPED, own)

"""Tags: what they compute, and what is refused when a grammar is loaded."""

from pathlib import Path

import pytest

from assistant.batch.record.commands import (
    COMMANDS,
    AddWater,
    Incomplete,
    JudgeCrumb,
    Loudness,
    Mix,
    Mixer,
    NewDie,
    Portions,
    SetLot,
    SetTarget,
    SetTimer,
)
from assistant.dough.amounts import Amount
from assistant.errors import GrammarError
from assistant.nlu import load_grammar
from assistant.ports import Asking
from tests.nlu.grammars import accepts, grammar, jsgf


@pytest.mark.parametrize(
    ("rule", "command"),
    [
        ("go {command=water} {+5}", AddWater(Amount(5.0))),
        ("go {command=water} {+5} {*100} {+50}", AddWater(Amount(550.0))),
        ("go {command=water} {&3} {&.} {&5}", AddWater(Amount(3.5))),
        ("go {command=water} {+2} {*1000} {keep} {+6} {*100} {+20}", AddWater(Amount(2620.0))),
        ("go {command=water} {+0.1} {+0.2}", AddWater(Amount(0.3))),
        ("go {+2} {unit=kg} {command=water}", AddWater(Amount(2.0, "kg"))),
        ("go {command=target} {+30} {&.} {&5}", SetTarget(30.5)),
        ("go {command=lot} {&0} {&47}", SetLot("047")),
        ("go {command=mix} {+1} {*60} {keep} {+30}", Mix(90.0)),
        ("go {command=mix}", Mix(None)),
        ("go {command=mix} {seconds=90}", Mix(90.0)),
        ("go {command=timer} {name=tray one} {+60}", SetTimer("tray one", 60.0)),
        ("go {command=portions} {+12}", Portions(12)),
        ("go {command=mixer} {on=false}", Mixer(on=False)),
        ("go {command=loudness} {step=-1}", Loudness(-1)),
        ("go {command=crumb} {verdict=wet}", JudgeCrumb("wet")),
        ("go {command=new_die} {name=shells}", NewDie("shells")),
        ("go {command=water} {missing=number}", Incomplete("water", "number")),
        ("go {command=mix} {+5} {missing=unit}", Incomplete("mix", "unit")),
        # What can't be a number of this kind is asked for again.
        ("go {command=portions} {+2} {*0.25}", Incomplete("portions", "number")),
        ("go {command=water} {+999} {*1000000000}", Incomplete("water", "number")),
        ("go {command=water} {+-1}", Incomplete("water", "number")),
        ("go {command=water} {&1} {&.} {&.} {&1}", Incomplete("water", "number")),
    ],
)
def test_meaning_of_tags(rule: str, command: object) -> None:
    assert grammar(f"public <command> = {rule};").parse("go") == command


def test_what_is_typed_but_never_said() -> None:
    tested = grammar(
        "public <a> = go {command=water} (five {+5} | <VOID> {typed #}) [kilos | <VOID> {typed kg}];"
    )
    assert tested.parse("go 1,250 kg") == AddWater(Amount(1250.0, exact=True))
    assert tested.parse("go 7") == AddWater(Amount(7.0, exact=True))
    assert tested.parse("go five kilos") == AddWater(Amount(5.0))
    assert tested.words == {"go", "five", "kilos"}
    assert accepts(tested.graph(Asking.NOTHING), "go five")
    assert not accepts(tested.graph(Asking.NOTHING), "go")


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        # One tag by itself: file and line.
        (
            "go {command=watr} {+1}",
            "test.jsgf, line 3: found the tag {command=watr}; is water meant?",
        ),
        (
            "go {command=crumb} {verdict=moist}",
            "test.jsgf, line 3: found the tag {verdict=moist}; the values are dry, ready, wet.",
        ),
        (
            "go {command=water} {+1} {unit=grams}",
            "test.jsgf, line 3: found the tag {unit=grams}; the values are g, kg, lb, oz, ml, l.",
        ),
        (
            "go {command=mixer} {on=yes}",
            "test.jsgf, line 3: found the tag {on=yes}; the values are true, false.",
        ),
        (
            "go {command=loudness} {step=up}",
            "test.jsgf, line 3: found the tag {step=up}; the value is a number.",
        ),
        (
            "go {command=new_die} {name=}",
            "test.jsgf, line 3: found the tag {name=}; a value follows the =.",
        ),
        (
            "go {command=water} {missing=flour}",
            "test.jsgf, line 3: found the tag {missing=flour}; the values are number, unit.",
        ),
        (
            "go {command=mixer} {onn=true}",
            "test.jsgf, line 3: found the tag {onn=true}; is on meant?",
        ),
        (
            "go {command=water} {+x}",
            "test.jsgf, line 3: found the tag {+x}; a number follows +, as {+50}.",
        ),
        (
            "go {command=water} {*} {+1}",
            "test.jsgf, line 3: found the tag {*}; a number follows *, as {*50}.",
        ),
        (
            "go {command=water} {&seven}",
            "test.jsgf, line 3: found the tag {&seven}; & appends digits, a point or a lot's capital "
            "letters, as {&7}.",
        ),
        (
            "go {command=undo} | stay {undo}",
            "test.jsgf, line 3: found the tag {undo}; a tag is {command=NAME}, {SLOT=VALUE}, {+NUMBER}, "
            "{*NUMBER},"
            " {&DIGITS}, {keep}, {then}, or {typed SIGNS} right after <VOID>.",
        ),
        (
            "go {command=undo} | stay {typed x}",
            "test.jsgf, line 3: found {typed x}; it comes right after <VOID>, which can't be said.",
        ),
        (
            "go {command=undo} | <VOID> {typed two words}",
            "test.jsgf, line 3: found {typed two words};"
            " typed is followed by one word, one sign, one digit, or # for any number.",
        ),
        (
            "go {command=undo} | <VOID> {typed}",
            "test.jsgf, line 3: found {typed};"
            " typed is followed by one word, one sign, one digit, or # for any number.",
        ),
        (
            "go 150 {command=undo}",
            "test.jsgf, line 3: found the word `150`; a word is letters, maybe with an apostrophe:"
            " write a number as it is said, and a compound as two words.",
        ),
        (
            "go twenty-five {command=undo}",
            "test.jsgf, line 3: found the word `twenty-five`; a word is letters, maybe with an apostrophe:"
            " write a number as it is said, and a compound as two words.",
        ),
        # A sentence as a whole: a shortest example.
        (
            "go {command=undo} | stay",
            'test.jsgf: "stay" means no command: no tag names one, as {command=water} would; mend its tags.',
        ),
        (
            "(go {command=undo} | stay {command=help}) {command=mix}",
            "test.jsgf, line 3: found the tag {command=help}; the values are "
            + ", ".join(name for name in COMMANDS if name not in ("incomplete", "together"))
            + ".",
        ),
        (
            "go {command=undo} on {command=mix}",
            'test.jsgf: "go on" means no command: its tags name two, undo and mix; mend its tags.',
        ),
        (
            "go {command=crumb} {verdict=dry} on {verdict=wet}",
            'test.jsgf: "go on" means no command: its tags set verdict twice; mend its tags.',
        ),
        (
            "go {command=water} [five {+5}]",
            'test.jsgf: "go" means no command: water is left without its amount; mend its tags.',
        ),
        (
            "go {command=crumb} [five {+5}] {verdict=dry}",
            'test.jsgf: "go five" means no command: crumb has no place for a number; mend its tags.',
        ),
        (
            "go {command=crumb} {verdict=dry} {unit=kg}",
            'test.jsgf: "go" means no command: crumb can\'t be given unit; its slots are verdict; mend '
            "its tags.",
        ),
        (
            "go {command=undo} {unit=kg}",
            'test.jsgf: "go" means no command: undo can\'t be given unit; it has no slots; mend its tags.',
        ),
        (
            "go {command=timer} {+60}",
            'test.jsgf: "go" means no command: timer is left without its name; mend its tags.',
        ),
    ],
)
def test_what_is_refused(rules: str, message: str) -> None:
    with pytest.raises(GrammarError) as caught:
        grammar(f"public <command> = {rules};")
    assert str(caught.value) == message


def test_a_kitchen_adds_a_phrasing(tmp_path: Path) -> None:
    path = tmp_path / "commands.jsgf"
    path.write_text(jsgf("public <command> = (water | agua) {command=water} (cinco {+5} | diez {+10});"))
    assert load_grammar(path).parse("Agua diez") == AddWater(Amount(10.0))

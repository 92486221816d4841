"""A kitchen's own phrasings and names in the grammar: what they mean, and what is left out and why."""

from pathlib import Path

import pytest

from assistant.batch.record.commands import (
    AddWater,
    Answer,
    Command,
    Cook,
    Incomplete,
    NewBatch,
    NewDie,
    Portions,
    PourRest,
    Rest,
    SetLot,
    SetTarget,
    SetTimer,
    StopTimer,
    Together,
    UseRecipe,
    Walk,
)
from assistant.config.language.own_words import OwnRow
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.errors import GrammarError
from assistant.nlu.own import KitchenGrammar, Own, OwnName, load_kitchen_grammar
from assistant.ports import Asking
from tests.nlu.grammars import accepts, jsgf

FILE = grammar_folder() / "commands.jsgf"
SMALL = """
public <command> = <water> | <rest> | <lot> | <timer> | <die> | <use> | <portions> | <target> | <walk>
    | lot {command=lot} <lot_name> {then} new batch {command=new_batch} <amount>;
<water> = water {command=water} (<amount> | <NULL> {missing=number}) | poured the rest {command=pour_rest};
<rest> = rest {command=rest} [<time>];
<lot> = lot {command=lot} <lot_name>;
<timer> = timer {command=timer} <timer_name> <time> | stop {command=stop_timer} <timer_name>;
<die> = new die {command=new_die} <shape> | cook {command=cook} <shape>;
<use> = recipe {command=recipe} <recipe_name>;
<portions> = portions {command=portions} (<number> | <digits>);
<target> = target {command=target} <percent>;
<walk> = opening check {walk=opening check} {command=walk};
public <answer> = (yes {yes=true} | no {yes=false}) {command=answer};
public <given_amount> = <amount> {command=given_amount};
<amount> = (<number> | <digits>) [grams {unit=g} | kilos {unit=kg} | <VOID> {typed kg} {unit=kg}];
<time> = (<number> | <digits>) minutes {*60};
<percent> = <number> | <digits>;
<number> = fifty {+50} | twelve {+12} | three {+3};
<digits> = <VOID> {typed #};
<lot_name> = twelve {&12} | fifty {&50} | <digits>;
<shape> = penne {name=penne} | rigatoni {name=rigatoni};
<recipe_name> = egg {recipe=egg} | squid ink {recipe=squid ink};
<timer_name> = <timer_thing> | three {name=3};
<timer_thing> = sauce {name=sauce};
"""
"""A grammar with every slot, quickly built; it has no places set aside for what a kitchen adds."""


def rows(found: dict[str, str]) -> tuple[OwnRow, ...]:
    return tuple(OwnRow(said, means, f'words: "{said}"') for said, means in found.items())


@pytest.fixture
def small(tmp_path: Path) -> Path:
    file = tmp_path / "small.jsgf"
    file.write_text(jsgf(SMALL), encoding="utf-8")
    return file


def own(
    file: Path,
    phrases: dict[str, str] | None = None,
    names: dict[str, str] | None = None,
    others: tuple[OwnName, ...] = (),
) -> KitchenGrammar:
    return load_kitchen_grammar(file, Own(others, rows(names or {}), rows(phrases or {})))


@pytest.mark.parametrize(
    ("phrase", "means", "said", "command"),
    [
        ("that's her in", "poured the rest", "that's her in", PourRest()),
        ("in she goes", "water", "in she goes", Incomplete("water", "number")),
        ("slosh in {amount}", "water {amount}", "slosh in fifty grams", AddWater(Amount(50))),
        ("slosh in {amount}", "water {amount}", "Slosh in 2 kg!", AddWater(Amount(2, "kg", exact=True))),
        ("{amount} of the wet", "water {amount}", "three kilos of the wet", AddWater(Amount(3, "kg"))),
        ("kip for {time}", "rest {time}", "kip for three minutes", Rest(180)),
        ("aim for {percent}", "target {percent}", "aim for 31.5", SetTarget(31.5)),
        ("plates {count}", "portions {count}", "plates twelve", Portions(12)),
        ("bag {lot}", "lot {lot}", "bag twelve", SetLot("12")),
        ("bag {lot}", "lot {lot}", "bag 0471", SetLot("0471")),
        ("make {recipe}", "recipe {recipe}", "make squid ink", UseRecipe("squid ink")),
        ("in with {shape}", "new die {shape}", "in with penne", NewDie("penne")),
        ("no more {timer}", "stop {timer}", "no more sauce", StopTimer("sauce")),
        ("set {timer} to {time}", "timer {timer} {time}", "set three to 10 minutes", SetTimer("3", 600)),
        ("{time} on {timer}", "timer {timer} {time}", "fifty minutes on sauce", SetTimer("sauce", 3000)),
        ("the usual jug", "water 750", "the usual jug", AddWater(Amount(750))),
        ("morning", "lot twelve new batch fifty", "morning", Together((SetLot("12"), NewBatch(Amount(50))))),
        (
            "{lot} and {amount}",
            "lot {lot} new batch {amount}",
            "twelve and three kilos",
            Together((SetLot("12"), NewBatch(Amount(3, "kg")))),
        ),
    ],
)
def test_a_phrase_means_its_sentence_in_every_slot(
    small: Path, phrase: str, means: str, said: str, command: Command
) -> None:
    found = own(small, {phrase: means})
    assert found.problems == ()
    assert found.grammar.parse(said) == command
    assert load_kitchen_grammar(small, Own()).grammar.parse(said) is None


def test_a_phrase_is_heard_as_well_as_typed(small: Path) -> None:
    found = own(small, {"slosh in {amount}": "water {amount}"})
    graph = found.grammar.graph(Asking.NOTHING)
    assert accepts(graph, "slosh in fifty grams")
    assert not accepts(graph, "slosh in")
    assert {"slosh", "in"} <= found.grammar.words


def test_a_phrase_that_answers_is_said_only_when_asked(small: Path) -> None:
    found = own(small, {"aye": "yes", "call it {amount}": "fifty"})
    assert found.grammar.parse("aye") is None
    assert found.grammar.parse("aye", asking=Asking.ANSWER) == Answer(yes=True)
    assert found.problems == (
        'words: "call it {amount}": {amount} is not in what it means; write it there too, or take it out.',
    )
    found = own(small, {"call it {amount}": "{amount}"})
    assert [phrase.asking for phrase in found.phrases] == [Asking.AMOUNT]
    assert found.grammar.parse("call it fifty") is None


@pytest.mark.parametrize(
    ("phrase", "means", "problem"),
    [
        (
            "water {amount}",
            "water {amount}",
            '"water 150" is already understood: water 150 g. Leave it out.',
        ),
        (
            "poured the rest",
            "water",
            '"poured the rest" already means pour rest, and would mean water without its number. '
            "Use other words.",
        ),
        (
            "yes",
            "poured the rest",
            '"yes" already means answer yes true, and would mean pour rest. Use other words.',
        ),
        (
            "rest {time}",
            "timer three {time}",
            '"rest 150 minutes" already means rest 9000 s, and would mean timer 3 9000 s. Use other words.',
        ),
        (
            "splash {amount}",
            "watr {amount}",
            '"watr {amount}" is not understood; did you mean "water {amount}"?',
        ),
        (
            "{amount} of {lot}",
            "lot {lot} new batch {amount}",
            "its slots come in another order than in what it means; write them in that order.",
        ),
        (
            "splash",
            "sing a song",
            '"sing a song" is not understood; crumbcall parse says what is understood.',
        ),
        ("splash {amont}", "water", "there is no slot {amont}; did you mean amount?"),
        ("splash {amount}", "water {amont}", "there is no slot {amont}; did you mean amount?"),
        ("{amount}", "water {amount}", "there is no word in it; say what it is, not the value alone."),
        ("splash", "water {amount}", "it means something with {amount}; write that into the phrase too."),
        ("{amount} x {amount}", "water {amount}", "it has a slot twice; use each once."),
        ("splash 5", "water", '"5" is not a word; write letters, and numbers as they are said.'),
        ("splash & go", "water", '"&" is not a word; write letters, and numbers as they are said.'),
        ("a b c d e f g h i j k", "water", "it has 11 words, allowed are 10; make it shorter."),
    ],
)
def test_what_can_not_be_is_left_out_and_told(small: Path, phrase: str, means: str, problem: str) -> None:
    found = own(small, {phrase: means, "in she goes": "poured the rest"})
    [line] = found.problems
    assert line.startswith(f'words: "{phrase}": ')
    assert line.removeprefix(f'words: "{phrase}": ') == problem
    assert [one.said for one in found.phrases] == ["in she goes"]
    assert found.grammar.parse("in she goes") == PourRest()


def test_of_two_rows_that_clash_the_later_goes(small: Path) -> None:
    found = own(small, {"splash": "poured the rest", "Splash it": "water", "splash ": "water"})
    assert [one.said for one in found.phrases] == ["splash", "Splash it"]
    assert len(found.problems) == 1
    assert found.grammar.parse("splash") == PourRest()


def test_names_of_every_kind_are_sayable(small: Path) -> None:
    names = {
        "the red bag": "lot r-12",
        "blue": "R12",
        "ragu": "timer",
        "quills": "shape penne",
        "tubes": "rigatoni",
        "squid": "recipe squid ink",
        "first check": "walk opening check",
    }
    found = own(small, names=names)
    assert found.problems == ()
    said = {
        "lot the red bag": SetLot("R12"),
        "lot red bag": SetLot("R12"),
        "lot blue": SetLot("R12"),
        "stop ragu": StopTimer("ragu"),
        "new die quills": NewDie("penne"),
        "cook tubes": Cook("rigatoni"),
        "recipe squid": UseRecipe("squid ink"),
        "first check": Walk("opening check"),
    }
    assert {text: found.grammar.parse(text) for text in said} == said
    assert all(accepts(found.grammar.graph(Asking.NOTHING), text) for text in said)


@pytest.mark.parametrize(
    ("name", "means", "problem"),
    [
        ("squid", "recipe squid inc", 'there is no recipe "squid inc"; did you mean squid ink?'),
        (
            "squid",
            "ink",
            '"ink" does not say what it is; begin with timer, shape, recipe, walk, cook or lot.',
        ),
        ("squid 2", "recipe egg", '"2" is not a word; write letters, and numbers as they are said.'),
        ("squid", "lot", "the lot is missing; write lot and its name."),
    ],
)
def test_a_name_of_nothing_is_left_out_and_told(small: Path, name: str, means: str, problem: str) -> None:
    assert own(small, names={name: means}).problems == (f'words: "{name}": {problem}',)


def test_a_name_that_means_another_thing_already_is_left_out(small: Path) -> None:
    found = own(small, names={"penne": "shape rigatoni", "twelve": "lot B7"})
    assert len(found.problems) == 2
    assert found.grammar.parse("cook penne") == Cook("penne")
    assert found.grammar.parse("lot twelve") == SetLot("12")


def test_what_the_kitchens_other_files_name_is_sayable_and_what_can_not_be_said_is_a_note(
    small: Path,
) -> None:
    others = (
        OwnName("shape", "strozzapreti", "strozzapreti", "settings"),
        OwnName("shape", "penne", "penne", "settings"),
        OwnName("recipe", "type 00", "type 00", "recipes"),
    )
    found = own(small, {"now {shape}": "new die {shape}"}, others=others)
    assert found.grammar.parse("now strozzapreti") == NewDie("strozzapreti")
    assert [name.said for name in found.names] == ["strozzapreti"], "the grammar has the other"
    assert found.problems == ()
    assert found.unsayable == (
        'recipes: "type 00": "00" is not a word; write letters, and numbers as they are said.',
    )


def test_accents_may_be_left_out_on_a_keyboard_and_come_in_either_form(small: Path) -> None:
    found = own(small, names={"crème pat": "timer", "ragù": "timer"})
    for text in ("stop crème pat", "stop creme pat", "stop cre\u0300me pat", "STOP CRÈME PAT"):
        assert found.grammar.parse(text) == StopTimer("crème pat")
    assert not accepts(found.grammar.graph(Asking.NOTHING), "stop creme pat")


def test_a_grammar_without_a_rule_for_it_says_so(tmp_path: Path) -> None:
    file = tmp_path / "own.jsgf"
    file.write_text(jsgf("public <a> = undo {command=undo};"), encoding="utf-8")
    found = own(file, {"scrub {amount}": "undo", "oops": "undo"}, {"ragu": "timer"})
    assert (
        sorted(found.problems)
        == [
            'words: "ragu": your own own.jsgf has no rule <timer_thing> to take it; add that.',
            'words: "scrub {amount}": there is no slot {amount}; there are ' + ".",
        ]
        or len(found.problems) == 2
    )
    assert [one.said for one in found.phrases] == ["oops"]


def test_a_grammar_that_is_broken_itself_is_an_error(tmp_path: Path) -> None:
    file = tmp_path / "own.jsgf"
    file.write_text(jsgf("public <a> = undo {command=undo} | undo {command=pour_rest};"), encoding="utf-8")
    with pytest.raises(GrammarError, match='"undo" has two readings'):
        own(file, {"oops": "undo"})


def test_the_grammar_that_ships_takes_all_of_it() -> None:
    phrases = {
        "ladle in {amount}": "water {amount}",
        "plate up {count}": "portions {count}",
        "dial it to {percent}": "target {percent}",
        "bag {lot} with {amount}": "lot {lot} new batch {amount}",
        "clip on {shape}": "new die {shape}",
        "tonight it's {recipe}": "recipe {recipe}",
        "squash {timer}": "stop timer {timer}",
        "kip for {time}": "rest {time}",
    }
    names = {
        "the red bag": "lot R12",
        "beef stock": "timer",
        "quills": "shape penne",
        "squid": "recipe squid ink",
    }
    found = own(FILE, phrases, names, (OwnName("walk", "night check", "night check", "walks"),))
    assert found.problems == ()
    parse = found.grammar.parse
    assert parse("ladle in one fifty") == AddWater(Amount(150))
    assert parse("plate up twelve") == Portions(12)
    assert parse("dial it to thirty one point five") == SetTarget(31.5)
    assert parse("clip on quills") == NewDie("penne")
    assert parse("tonight it's squid") == UseRecipe("squid ink")
    assert parse("squash beef stock") == StopTimer("beef stock")
    assert parse("lot red bag") == SetLot("R12")
    assert parse("red bag", asking=Asking.LOT) is not None
    assert parse("beef stock timer two hours") == SetTimer("beef stock", 7200)
    assert parse("night check") == Walk("night check")

"""What can be meant now: orderings that hold in any kitchen (common practice, no source)."""

import itertools
from dataclasses import replace

import pytest

from assistant.batch.decide.decide import Said, decide
from assistant.batch.record import commands as cmd
from assistant.batch.record.evolving.evolve import evolve
from assistant.batch.record.rules import BatchRules
from assistant.batch.record.state import State
from assistant.config.home import Home
from assistant.config.pantry import Pantry
from assistant.config.recipes import Recipes
from assistant.dough.amounts import Amount
from assistant.nlu import load_grammar
from assistant.nlu.likelihood import surprise
from tests.bench.hearing.cooks import moments

RULES = BatchRules()


def after(*commands: cmd.Command) -> State:
    state = State()
    for command in commands:
        for event in decide(state, Said(command), 10.0, RULES).events:
            state = evolve(state, event)
    return state


def grams(value: float) -> Amount:
    return Amount(value)


OPEN = after(cmd.NewBatch(grams(2000)))
MADE = after(cmd.NewBatch(grams(2000)), cmd.DropBatch())
POURED = after(cmd.NewBatch(grams(2000)), cmd.AddWater(grams(440)))


def of(state: State, command: cmd.Command | None) -> float:
    return surprise(state, command, RULES)


def test_the_states_are_what_they_seem() -> None:
    assert OPEN.batch is not None
    assert POURED.batch is not None
    assert POURED.batch.water_g == 440


@pytest.mark.parametrize(
    ("state", "likely", "unlikely"),
    [
        (OPEN, cmd.AddWater(grams(300)), cmd.AddWater(grams(313))),
        (OPEN, cmd.AddWater(grams(50)), cmd.AddWater(grams(53))),
        (POURED, cmd.AddWater(grams(180)), cmd.AddWater(grams(800))),
        (POURED, cmd.AddWater(grams(180)), cmd.AddWater(grams(2))),
        (POURED, cmd.AddWater(grams(60)), cmd.NewBatch(grams(1500))),
        (State(), cmd.NewBatch(grams(1500)), cmd.NewBatch(grams(50))),
        (State(), cmd.NewBatch(grams(1500)), cmd.NewBatch(grams(9000))),
        (State(), cmd.NewBatch(grams(1500)), cmd.AddWater(grams(150))),
        (MADE, cmd.SameAgain(), cmd.AddWater(grams(150))),
        (OPEN, cmd.AddWater(grams(300)), cmd.SameAgain()),
        (State(), cmd.NewBatch(grams(1500)), cmd.SameAgain()),
        (OPEN, cmd.PrepRest(600), cmd.PrepRest(613)),
        (State(), cmd.SetTarget(31), cmd.SetTarget(80)),
        (OPEN, cmd.Mix(90), cmd.Mix(93)),
        (OPEN, cmd.Mix(120), cmd.Mix(7200)),
        (OPEN, cmd.SetTimer("1", 840), cmd.SetTimer("1", 50_400)),
        (OPEN, cmd.SetTimer("1", 2400), cmd.SetTimer("1", 2460)),
        (OPEN, cmd.Mixer(on=True), cmd.StopTimer(None)),
        (OPEN, cmd.Ask("left"), cmd.GotIt()),
        (POURED, cmd.Portions(20), cmd.Portions(900)),
        (POURED, cmd.Scrap(grams(40)), cmd.Scrap(grams(2400))),
        (POURED, cmd.MakeThat(grams(400)), cmd.MakeThat(grams(440))),
        (POURED, cmd.MakeThat(grams(400)), cmd.MakeThat(grams(4000))),
        (OPEN, cmd.AddFlour(grams(100)), cmd.AddFlour(grams(5000))),
        (OPEN, cmd.Ask("left"), cmd.Incomplete("water", "number")),
        (OPEN, cmd.Ask("left"), None),
    ],
)
def test_likely_before_unlikely(state: State, likely: cmd.Command, unlikely: cmd.Command | None) -> None:
    assert of(state, likely) < of(state, unlikely)


def test_the_rest_is_no_round_figure_and_still_expected() -> None:
    assert POURED.batch is not None
    odd = replace(POURED.batch, target_pct=31.37)
    state = replace(POURED, batch=odd)
    assert of(state, cmd.AddWater(grams(round(odd.to_target_g)))) == 0.0


def test_it_is_a_share_for_all_that_cooks_say(tmp_path_factory: pytest.TempPathFactory) -> None:
    home = Home.find(tmp_path_factory.mktemp("home"))
    grammar = load_grammar(home.language_file("commands.jsgf"))
    recipes = Recipes.load(Pantry.load(home.config / "none"), home.config / "none")
    said = list(itertools.islice(moments(grammar, "tune", RULES, recipes), 200))
    values = [of(m.state, m.command) for m in said]
    assert all(0.0 <= value <= 1.0 for value in values)
    assert sum(value == 0.0 for value in values) > 0.6 * len(values)

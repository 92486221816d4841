"""One figure of flour that mends a wet dough, in voice and calculator; and the hopper."""

import json

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.batch.decide.making.marks import rescue_to, wet_mark_pct
from assistant.batch.record import commands as cmd
from assistant.cli.root import crumbcall
from assistant.dough import yields
from tests.batch.kitchen import REMEMBERS, Kitchen, at_target, mixing, typed

YES, NO = cmd.Answer(yes=True), cmd.Answer(yes=False)


def calculated(flour: float, water: float, tmp: str) -> dict[str, float]:
    """What `crumbcall dough rescue` says."""
    result = CliRunner().invoke(
        crumbcall,
        ["--home", tmp, "dough", "rescue", str(flour), str(water), "--json"],
        catch_exceptions=False,
    )
    found: dict[str, float] = json.loads(result.output)
    return found


@pytest.mark.parametrize(("flour", "water"), [(1000, 345), (1500, 515), (2000, 700), (850, 300)])
def test_voice_and_calculator_say_the_same(
    flour: float, water: float, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Trade's case 50: 345 g in 1,000 g want 112.90 g of flour to 31 %, 45.45 g to 33 %."""
    k = mixing(flour)
    k.say(cmd.AddWater(typed(water)))
    said = dict(k.say(YES))
    found = calculated(flour, water, str(tmp_path_factory.mktemp("home")))
    assert said["rescue_fits"]["flour"] == found["to_high_whole_g"]
    k.say(cmd.AddFlour(typed(found["to_high_whole_g"])))
    assert k.batch.high_pct - 0.1 < k.batch.hydration_pct <= k.batch.high_pct
    assert rescue_to(k.batch, 31).whole_g + found["to_high_whole_g"] == pytest.approx(found["whole_g"], abs=1)


@settings(max_examples=50)
@given(st.floats(200, 2000), st.floats(0.331, 0.45))
def test_a_whole_gram_never_leaves_it_above_the_mark(flour: float, share: float) -> None:
    found = yields.rescue(flour, flour * share, 33, 3000)
    assert found.flour_g - 1e-6 <= found.whole_g < found.flour_g + 1
    assert 100 * flour * share / (flour + found.whole_g) <= 33 + 1e-6


def test_a_wet_crumb_is_taken_to_a_mark_that_is_said() -> None:
    """480 g in 1,500 g are 32 %: one point down is 31 %, 480 / 0.31 - 1500 = 48.4 g."""
    k = mixing(1500, 480)
    assert wet_mark_pct(k.batch) == pytest.approx(31)
    assert k.say(cmd.JudgeCrumb("wet")) == [("wet_flour", {"flour": 49, "hydration": pytest.approx(31)})]


def test_the_egg_that_is_to_come_counts_in_the_rescue() -> None:
    """1,000 g, 200 g poured and 152.30 g to come: 352.30 / 0.33 - 1000 = 67.6 g (egg: SR28 NDB 01123)."""
    k = Kitchen(known=REMEMBERS)
    k.say(cmd.UseRecipe("egg"))
    k.say(cmd.NewBatch(typed(1000)))
    k.say(cmd.AddWater(typed(200)))
    said = dict(k.say(YES))
    assert said["rescue_fits"] == {"grams": pytest.approx(22.30), "flour": 68}


# ---- the hopper


def test_flour_over_the_hopper_is_asked_about_in_an_open_batch_only() -> None:
    k = at_target(2200)
    # 2,300 g at 31 % are 3,013 g.
    assert k.say(cmd.AddFlour(typed(100))) == [("ask_over_hopper", {"grams": 100, "over": pytest.approx(13)})]
    assert k.keys(NO) == ["not_logged"]
    assert k.keys(cmd.AddFlour(typed(90))) == ["flour_in", "left"], "2,290 g at 31 % are 2,999.9 g"
    assert Kitchen().say(cmd.NewBatch(typed(3100))) == [("flour_too_much", {"grams": 3100, "most": 2290})]


def test_flour_too_much_for_a_recipe_names_what_fits_with_its_additions() -> None:
    """Egg: per 100 of flour 31 of water and 4.77 of dry egg; 3000 / 1.3577 = 2209.6 g, down to 2205."""
    k = Kitchen(known=REMEMBERS)
    k.say(cmd.UseRecipe("egg"))
    assert k.say(cmd.NewBatch(typed(3100))) == [("flour_too_much", {"grams": 3100, "most": 2205})]


def test_dropping_it_is_not_asked_about() -> None:
    assert mixing(1500, 100).keys(cmd.DropBatch()) == ["batch_dropped"]

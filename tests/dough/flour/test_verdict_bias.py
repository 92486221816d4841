"""Cooks who judge late or early, and the air, held against what was put in."""

import random
from dataclasses import replace

import pytest

from assistant.dough.evidence import Bounds
from assistant.dough.flour.lot_history import noise
from assistant.dough.flour.verdict_bias import learn_biases
from assistant.dough.flour_memory import FlourMemory
from assistant.dough.lots import LotRecord, Seen

USUAL = noise(0.35)


def lots(
    cooks: dict[str | None, float], slope: float = 0.0, count: int = 5, wrong: float = 0.0
) -> list[tuple[list[Seen], float]]:
    """Lots of 20 batches judged by these cooks in turn, in air that changes."""
    luck, made = random.Random(9), []
    for _ in range(count):
        mean, own = luck.gauss(31.0, 0.6), []
        for number in range(20):
            cook = luck.choice(list(cooks))
            humid = luck.gauss(60.0, 12.0)
            end = luck.gauss(mean, 0.25) + cooks[cook] + slope * (humid - 60.0) / 10.0
            if luck.random() < wrong:
                end += luck.choice((-2.0, 2.0))
            told = humid if slope else None
            own.append(Seen(20_000.0 + number, Bounds(end - 0.4, end + 0.4), number, None, (), cook, told))
        made.append((own, 31.0))
    return made


def test_one_who_judges_late_is_told_from_two_who_agree() -> None:
    found = learn_biases(lots({"a": 0.0, "b": 0.0, "c": 0.5}), 1.0, USUAL)
    assert found.of("c", None) - found.of("a", None) == pytest.approx(0.5, abs=0.15)
    assert abs(found.of("a", None)) < 0.2
    assert abs(found.of("b", None)) < 0.2


def test_wrong_verdicts_do_not_wreck_it() -> None:
    found = learn_biases(lots({"a": 0.0, "b": 0.0, "c": 0.5}, wrong=0.08), 1.0, USUAL)
    assert found.of("c", None) - found.of("a", None) == pytest.approx(0.5, abs=0.3)


@pytest.mark.parametrize("cooks", [{"a": 0.6}, {None: 0.6}, {"a": 0.6, None: 0.0}])
def test_one_alone_has_nobody_to_be_held_against(cooks: dict[str | None, float]) -> None:
    found = learn_biases(lots(cooks), 1.0, USUAL)
    assert found.of("a", None) == found.of(None, None) == 0.0


def test_a_cook_of_two_batches_is_not_judged() -> None:
    made = lots({"a": 0.0, "b": 0.0})
    own, about = made[0]
    own = [replace(one, cook="new") if place < 2 else one for place, one in enumerate(own)]
    assert learn_biases([(own, about), *made[1:]], 1.0, USUAL).of("new", None) == 0.0


def test_the_air_is_learned_where_it_is_told() -> None:
    """Damp air wets flour, which then wants less water: the sign is that of any sorption isotherm."""
    found = learn_biases(lots({None: 0.0}, slope=-0.25), 1.0, USUAL)
    assert found.slope == pytest.approx(-0.25, abs=0.08)
    assert found.usual_pct == pytest.approx(60.0, abs=3.0)
    assert found.of_air(found.usual_pct + 20.0) == pytest.approx(2 * found.slope)
    assert found.of_air(None) == 0.0
    assert learn_biases(lots({None: 0.0}), 1.0, USUAL).slope == 0.0


def test_forecasts_are_of_the_end_not_of_the_late_cook() -> None:
    own = [
        (LotRecord(str(k), seen=tuple(seen))) for k, (seen, _) in enumerate(lots({"a": 0, "b": 0, "c": 0.6}))
    ]
    memory = FlourMemory(own)
    of = {cook: memory.forecast("0", 20_021.0, cook=cook) for cook in ("a", "c", None)}
    assert of["a"].likely_pct == of["c"].likely_pct == of[None].likely_pct
    assert of["c"].bias_pct > of["a"].bias_pct + 0.3
    assert of[None].bias_pct == 0.0
    plain = FlourMemory(
        [replace(one, seen=tuple(replace(seen, cook=None) for seen in one.seen)) for one in own]
    )
    assert memory.forecast("0", 20_021.0).likely_pct < plain.forecast("0", 20_021.0).likely_pct


def test_a_forecast_in_damp_air_wants_less() -> None:
    own = [LotRecord(str(k), seen=tuple(seen)) for k, (seen, _) in enumerate(lots({None: 0.0}, slope=-0.25))]
    memory = FlourMemory(own)
    damp, dry = (memory.forecast("0", 20_021.0, humidity_pct=pct).likely_pct for pct in (80.0, 40.0))
    assert dry - damp == pytest.approx(1.0, abs=0.3)


def test_a_kitchen_that_is_always_damp_is_forecast_as_it_is() -> None:
    """Where nothing is told of a batch, its air is the kitchen's usual one, not that of a drier kitchen."""
    own = [
        LotRecord(str(k), seen=tuple(replace(one, humidity_pct=(one.humidity_pct or 0) + 20) for one in seen))
        for k, (seen, _) in enumerate(lots({None: 0.0}, slope=-0.25))
    ]
    memory = FlourMemory(own)
    assert memory.biases.usual_pct == pytest.approx(80.0, abs=3.0)
    not_told, usual = (
        memory.forecast("0", 20_021.0, humidity_pct=pct) for pct in (None, memory.biases.usual_pct)
    )
    assert not_told.likely_pct == pytest.approx(usual.likely_pct, abs=0.01)
    ends = [(one.bounds.low + one.bounds.high) / 2 for one in own[0].seen]
    assert not_told.likely_pct == pytest.approx(sum(ends) / len(ends), abs=0.2)

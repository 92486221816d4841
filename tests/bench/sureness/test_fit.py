"""The regression on what is known, and the tables in small."""

import math
from pathlib import Path

import numpy as np
import pytest

from assistant.asr.confidence import Confidence, features, logit
from assistant.ports import Evidence
from tests.bench.sureness.fit import decisions, fitted, moment_of, regression, reliability
from tests.bench.sureness.gather import Row, load, save

TRUE = Confidence(-0.5, -1.5, 0.0, 1.2, 0.0, -3.0)


def row(evidence: Evidence, right: bool, surprise: float | None = None) -> Row:
    return Row("command", "somebody", "clean", "said", "heard", right, True, evidence, None, surprise)


def drawn(n: int) -> list[Row]:
    """Rows whose truth follows from a known confidence."""
    luck = np.random.default_rng(3)
    rows = []
    for _ in range(n):
        costs, lead = luck.uniform(0, 3, 2), luck.uniform(0, 20)
        evidence = Evidence((float(costs[0]), float(costs[1])), (lead, lead), int(luck.integers(3, 25)))
        rows.append(row(evidence, bool(luck.random() < TRUE.probability(evidence)), float(luck.random())))
    return rows


def test_one_feature_gives_the_log_odds_of_each_group() -> None:
    """By hand: three of four right without it, one of four with it."""
    x = np.array([[1.0, 0.0]] * 4 + [[1.0, 1.0]] * 4)
    weights = regression(x, np.array([1, 1, 1, 0, 1, 0, 0, 0], dtype=np.bool_))
    assert weights == pytest.approx([math.log(3), -2 * math.log(3)], abs=0.02)


def test_what_was_drawn_from_a_confidence_is_found_again() -> None:
    rows = drawn(4000)
    found = fitted(rows)
    apart = [found.probability(one.evidence) - TRUE.probability(one.evidence) for one in rows]
    assert np.abs(apart).mean() < 0.02
    assert np.abs(apart).max() < 0.15


def test_with_one_network_the_second_cost_is_worth_nothing() -> None:
    rows = [
        row(Evidence((cost,), (lead,), 10), right)
        for cost, lead, right in ((0.1, 9.0, True), (0.2, 1.0, False), (2.0, 9.0, False), (0.3, 8.0, True))
    ]
    assert fitted(rows).greatest_cost == 0.0


def test_a_moment_that_says_nothing_adds_nothing() -> None:
    found = moment_of(drawn(4000), TRUE)
    assert found.constant == pytest.approx(0.0, abs=0.2)
    assert found.log_odds == pytest.approx(1.0, abs=0.1)
    assert found.surprise == pytest.approx(0.0, abs=0.3)


def test_tables_count_what_is_right_and_what_is_done() -> None:
    good, bad = Evidence((0.0, 0.0), (20.0, 20.0), 12), Evidence((3.0, 3.0), (0.5, 0.5), 12)
    rows = [row(good, True), row(good, False), row(bad, False), row(bad, False)]

    def sure(one: Row) -> float:
        return 0.9 if one.evidence == good else 0.1

    assert "| 0.85 to 0.95 | 2 | 90.0 | 50.0" in reliability(rows, sure)
    assert decisions(rows, sure, 0.85).splitlines()[2].startswith("| command | clean | 4 | 25.0")
    assert logit(0.5) == 0.0
    assert len(features(good)) == 6


def test_rows_are_read_as_they_were_written(tmp_path: Path) -> None:
    rows = drawn(3)
    save(iter(rows), tmp_path / "rows.jsonl")
    assert load(tmp_path / "rows.jsonl") == rows

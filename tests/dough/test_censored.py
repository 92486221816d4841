"""Moments of a truncated normal and the update by an interval, against a statistics library."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dough.censored import Mixture, distribution, seen, truncated

stats: Any = pytest.importorskip(
    "scipy.stats", reason="the statistics library for comparison is not installed"
)
integrate: Any = pytest.importorskip("scipy.integrate")

edges = st.floats(-8, 8)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        (-1, 1),
        (0, 0.5),
        (-math.inf, 0.3),
        (-math.inf, math.inf),
        (1.2, math.inf),
        (3, 4),
        (-6, -5),
        (7, math.inf),
        (-0.2, 0.1),
        (-30, 30),
        (-20, -19.5),
    ],
)
def test_truncated_normal(a: float, b: float) -> None:
    """Source: scipy.stats.truncnorm and norm, C."""
    probability, mean, variance = truncated(a, b)
    exact = stats.norm.sf(a) - stats.norm.sf(b) if a > 0 else stats.norm.cdf(b) - stats.norm.cdf(a)
    assert probability == pytest.approx(exact, rel=1e-6)
    assert mean == pytest.approx(stats.truncnorm.mean(a, b), abs=1e-5)
    assert variance == pytest.approx(stats.truncnorm.var(a, b), rel=1e-3, abs=1e-7)


@pytest.mark.parametrize(("a", "b"), [(40, 41), (-60, -50), (100, math.inf)])
def test_far_out_nothing_breaks(a: float, b: float) -> None:
    probability, mean, variance = truncated(a, b)
    assert probability > 0
    # The tail of a normal beyond x is near to an exponential of mean x + 1 / x.
    edge = min(abs(a), abs(b))
    assert abs(mean) == pytest.approx(edge + 1 / edge, abs=1e-4)
    assert 0 < variance < 1


@given(edges, st.floats(0.0005, 10))
def test_moments_lie_where_they_can(a: float, width: float) -> None:
    probability, mean, variance = truncated(a, a + width)
    assert 0 < probability <= 1
    assert a - 1e-6 <= mean <= a + width + 1e-6
    assert 0 < variance <= min(1.0, width * width / 4 + 1e-9)


@given(edges)
def test_distribution(x: float) -> None:
    """Source: scipy.stats.norm, C."""
    assert distribution(x) == pytest.approx(stats.norm.cdf(x), rel=1e-9)


@pytest.mark.parametrize(
    ("mean", "variance", "low", "high"),
    [(31, 1.0, 30.4, math.inf), (31, 0.25, 30, 31), (31, 1.0, 33, 34), (31, 4.0, -math.inf, 29)],
)
def test_update_by_an_interval(mean: float, variance: float, low: float, high: float) -> None:
    """Source: numerical integration of the exact posterior by scipy.integrate.quad, C."""
    noise = ((0.97, 0.16), (0.03, 2.56))

    def weight(x: float) -> float:
        inside = sum(
            share * (stats.norm.cdf((high - x) / math.sqrt(v)) - stats.norm.cdf((low - x) / math.sqrt(v)))
            for share, v in noise
        )
        return float(inside * stats.norm.pdf(x, mean, math.sqrt(variance)))

    edges = (mean - 12 * math.sqrt(variance), mean + 12 * math.sqrt(variance))
    total = integrate.quad(weight, *edges, limit=200)[0]
    first = integrate.quad(lambda x: x * weight(x), *edges, limit=200)[0] / total
    second = integrate.quad(lambda x: (x - first) ** 2 * weight(x), *edges, limit=200)[0] / total
    probability, after, spread = seen(mean, variance, low, high, noise)
    assert probability == pytest.approx(total, rel=1e-5)
    assert after == pytest.approx(first, abs=1e-5)
    assert spread == pytest.approx(second, rel=1e-4)


def test_mixture_quantiles() -> None:
    """Source: by symmetry, and scipy.stats.norm for one part, C."""
    one = Mixture([(2.0, 31.0, 0.25)])
    assert one.quantile(0.05) == pytest.approx(stats.norm.ppf(0.05, 31, 0.5), abs=1e-3)
    two = Mixture([(1.0, 30.0, 0.1), (1.0, 32.0, 0.1)])
    assert two.quantile(0.5) == pytest.approx(31.0, abs=1e-3)
    assert two.mean == pytest.approx(31.0)
    assert two.below(two.quantile(0.2)) == pytest.approx(0.2, abs=1e-4)

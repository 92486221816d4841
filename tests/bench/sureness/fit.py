"""The logistic regression, and how far its probabilities can be trusted."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.asr.confidence import ACCEPTED, NEAR, Confidence, Moment, features, logit
from tests.bench.hearing.intervals import Share
from tests.bench.hearing.report import table
from tests.bench.sureness.gather import Row

RIDGE = 1e-4
"""Penalty of the squared weights, for each row."""
EDGES = (0.05, 0.2, 0.35, 0.6, 0.75, 0.85, 0.95, 0.99)


def regression(x: NDArray[np.float64], right: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Weights of a logistic regression by Newton's method; x: shape (rows, features), a constant first."""
    weights = np.zeros(x.shape[1])
    ridge = np.eye(x.shape[1]) * RIDGE * len(x)
    ridge[0, 0] = 0.0
    for _ in range(50):
        p = 1 / (1 + np.exp(-np.clip(x @ weights, -30, 30)))
        slope = x.T @ (p - right) + ridge @ weights
        weights = weights - np.linalg.solve((x * (p * (1 - p) + 1e-9)[:, np.newaxis]).T @ x + ridge, slope)
    return np.asarray(weights)


def fitted(rows: Sequence[Row]) -> Confidence:
    """The confidence that fits rows with a meaning best."""
    counted = [row for row in rows if row.has_meaning]
    x = np.array([features(row.evidence) for row in counted])
    if all(len(row.evidence.costs) == 1 for row in counted):
        # With one network the two costs are one: the second is worth nothing.
        x[:, 2] = 0.0
    right = np.array([row.right for row in counted])
    return Confidence(*(round(float(weight), 3) for weight in regression(x, right)))


def moment_of(rows: Sequence[Row], confidence: Confidence) -> Moment:
    """What the moment of the batch adds, from the rows that have one and a meaning."""
    counted = [row for row in rows if row.has_meaning and row.surprise is not None]
    x = np.array([[1.0, logit(confidence.probability(row.evidence)), row.surprise] for row in counted])
    right = np.array([row.right for row in counted])
    return Moment(*(round(float(weight), 3) for weight in regression(x, right)))


def reliability(rows: Sequence[Row], sure: Callable[[Row], float]) -> str:
    """Of what has a meaning: how often it is right where the probability says so."""
    counted = [row for row in rows if row.has_meaning]
    p = np.array([sure(row) for row in counted])
    right = np.array([row.right for row in counted])
    place = np.digitize(p, EDGES)
    lines = []
    for one, (low, high) in enumerate(zip((0.0, *EDGES), (*EDGES, 1.0), strict=True)):
        inside = place == one
        if inside.any():
            share = Share(int(right[inside].sum()), int(inside.sum()))
            lines.append([f"{low:g} to {high:g}", share.n, f"{100 * p[inside].mean():.1f}", share])
    return table(["probability", "n", "said to be right, %", "right, %"], lines)


def decisions(rows: Sequence[Row], sure: Callable[[Row], float], act_above: float) -> str:
    """What would be done, by kind and noise; where the moment counts, with it."""
    groups: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        groups.setdefault((row.kind, row.snr), []).append(row)
    lines = []
    for (kind, snr), some in groups.items():
        p = np.array([sure(row) if row.has_meaning else 0.0 for row in some])
        right = np.array([row.right for row in some])
        counts = [
            right & (p >= act_above),
            right & (p >= NEAR) & (p < act_above),
            ~right & (p >= act_above),
            ~right & (p >= ACCEPTED) & (p < act_above),
        ]
        lines.append([kind, snr, len(some), *(Share(int(one.sum()), len(some)) for one in counts)])
    head = ["kind", "noise", "n", "right at once", "right, asked", "wrong at once", "wrong, asked"]
    return table(head, lines)

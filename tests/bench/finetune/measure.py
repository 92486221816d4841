# mypy: disable-error-code="import-not-found"
"""Phone error rate without a grammar: a quick figure for choices on the dev split."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import torch
from numpy.typing import NDArray

from tests.bench.finetune.archive import BLANK, BOUNDARY
from tests.bench.finetune.network import Weights, output


def greedy(log_probabilities: NDArray[np.float32]) -> list[int]:
    """Best symbol of each frame (frames, 191), repeats and blanks and boundaries taken out."""
    best = log_probabilities.argmax(-1)
    kept = best[np.insert(best[1:] != best[:-1], 0, True)]
    return [int(s) for s in kept if s not in (BLANK, BOUNDARY)]


def distance(one: Sequence[int], other: Sequence[int]) -> int:
    """Fewest insertions, deletions and replacements between two runs (Levenshtein)."""
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        last, row[0] = row[0], i
        for j, b in enumerate(other, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (a != b))
    return row[-1]


def error_rate(w: Weights, waves: torch.Tensor, targets: Sequence[Sequence[int]], batch: int = 256) -> float:
    """Phone errors per phone of sounds (n, samples)."""
    wrong = total = 0
    for first in range(0, len(waves), batch):
        with torch.no_grad():
            heard = output(w, waves[first : first + batch], half=False).cpu().numpy()
        for found, target in zip(heard, targets[first : first + batch], strict=False):
            wanted = [p for p in target if p != BOUNDARY]
            wrong += distance(greedy(found), wanted)
            total += len(wanted)
    return wrong / max(1, total)

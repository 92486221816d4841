"""The mean of two weight files.

`python -m tests.bench.finetune.mean_weights BEFORE AFTER --share 0.75 --out FILE`

A fine-tuned network is in one valley of the loss with the network before; between the two it may be less sure
of what it hears wrongly (after Wortsman et al. 2022, "Robust fine-tuning of zero-shot models", from memory).
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.bench.finetune import archive

Tensors = dict[str, NDArray[np.float32]]


def mean(before: Tensors, after: Tensors, share: float) -> Tensors:
    """Tensors of the same names and shapes, `share` (0..1) of them `after`'s."""
    return {
        name: np.asarray((1 - share) * before[name].astype(float) + share * tensor, np.float32)
        for name, tensor in after.items()
    }


def main() -> None:
    """Run it."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("before", type=Path)
    parse.add_argument("after", type=Path)
    parse.add_argument("--share", type=float, default=0.75, help="how much of it is `after`")
    parse.add_argument("--out", type=Path, required=True)
    options = parse.parse_args()
    before, after = (archive.read(path.read_bytes()) for path in (options.before, options.after))
    archive.save(options.out, mean(before, after, options.share))


if __name__ == "__main__":
    main()

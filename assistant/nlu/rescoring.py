"""What could have been meant decides between hypotheses that scored nearly alike. Pure.

Rule: the penalty is bounded, and it only ever makes the station ask. A sentence that was heard clearly, with
a margin above the weight, stays the best whatever it means; one that is put back by the penalty is asked
about, never lost. What is expected does not become surer than it sounded: an honest cook's "thirteen" would
be logged as thirty.
"""

from collections.abc import Callable
from dataclasses import replace

from assistant.batch.decide.making.mishearing import are_twins
from assistant.batch.record.commands import Command
from assistant.ports import M, Recognition


def rescored(found: Recognition[M], surprise: Callable[[M | None], float], weight: float) -> Recognition[M]:
    """The recognition, with the `surprise` (0 expected, 1 hardly meant) of each hypothesis as a penalty.

    `weight`: penalty of the least expected meaning, in the unit of margins. The margin below which to ask was
    the best of 2/3 to 8/3 of it (tuning part of `tests/bench/hearing`).

    The margin becomes that of the rescored order where it is smaller. Where another hypothesis comes out best
    its margin is 0, so that it is asked about: the sound spoke for the first.
    """
    if not found.accepted or not found.alternatives:
        return found
    own = weight * surprise(found.meaning)
    rivals = [(rival.behind + weight * surprise(rival.meaning), rival) for rival in found.alternatives]
    nearest, other = min(rivals, key=lambda pair: pair[0])
    if nearest >= own:
        return replace(found, margin=min(found.margin, nearest - own))
    return replace(found, best=other, margin=0.0)


TWIN_LEADS = 3.0
"""A number is clear of its twin from this multiple of the needed margin on.

Measured: `tests/bench/hearing/FINDINGS.md`.
"""


def is_twin_near(found: Recognition[Command], margin: float) -> bool:
    """Whether the twin of the number that was heard comes near, where `margin` is needed."""
    meaning = found.meaning
    return meaning is not None and any(
        rival.meaning is not None and rival.behind < TWIN_LEADS * margin and are_twins(meaning, rival.meaning)
        for rival in found.alternatives
    )


def needed_margin(min_margin: float, snr_db: float | None) -> float:
    """Margin below which to ask: `min_margin` at 20 dB of speech over noise or more, half more at 0 dB.

    `snr_db` None: not known. The louder the noise, the wider the margins at which numbers are still mistaken.
    In quiet it is not lowered (`tests/bench/hearing/FINDINGS.md`).
    """
    if snr_db is None:
        return min_margin
    return min_margin * min(1.5, max(1.0, 1 + (20 - snr_db) / 40))

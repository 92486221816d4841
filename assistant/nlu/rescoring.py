"""What could have been meant weighs what was heard: the sentences that sound nearly alike, ordered anew. Pure.

Law: the weight is bounded, and it only ever makes us ask. A sentence that was heard clearly, further ahead of its
rivals than the weight, stays the best whatever it means; one that is set back by the weight is asked about, never
lost. What is expected is not taken for surer than it sounded: "thirteen" of an honest cook would be logged as thirty.
"""

from collections.abc import Callable
from dataclasses import replace

from assistant.ports import Recognition


def weighed(found: Recognition, surprise: Callable[[str], float], weight: float) -> Recognition:
    """The recognition with `surprise` (0 expected, 1 hardly meant) of its sentence and rivals taken into account.

    `weight`: lead that the least expected sentence needs to be held for as good as an expected one, in the margin's
    unit. As much as the margin below which to ask was best of 2/3 to 8/3 of it
    (tuning part of `tests/bench/hearing`).

    The margin becomes that of the weighed order where that is thinner. Where another sentence comes out best its margin
    is 0, so that it is asked about: the sound spoke for the first.
    """
    if not found.accepted or not found.alternatives:
        return found
    own = weight * surprise(found.text)
    rivals = [(one.behind + weight * surprise(one.text), one) for one in found.alternatives]
    nearest, other = min(rivals, key=lambda pair: pair[0])
    if nearest >= own:
        return replace(found, margin=min(found.margin, nearest - own))
    return replace(found, text=other.text, cost=other.cost, margin=0.0)


def needed_margin(min_margin: float, snr_db: float | None) -> float:
    """Margin below which to ask: `min_margin` where speech stands 20 dB above the noise or more, half more at 0 dB.

    `snr_db` None: not known. Numbers are mistaken at a wider margin the louder the room is. In quiet it is not lowered
    (`tests/bench/hearing/FINDINGS.md`).
    """
    if snr_db is None:
        return min_margin
    return min_margin * min(1.5, max(1.0, 1 + (20 - snr_db) / 40))

"""What could have been meant weighs what was heard: the sentences that sound nearly alike, ordered anew. Pure.

Law: the weight is bounded. A sentence that was heard clearly, further ahead of its rivals than the weight, stays the
best whatever it means; one that is set back by the weight is asked about, never lost.
"""

from collections.abc import Callable
from dataclasses import replace

from assistant.ports import Recognition

WEIGHT = 4.0
"""Log-probability that the least expected sentence must be ahead to be held for as good as an expected one."""


def weighed(found: Recognition, surprise: Callable[[str], float], weight: float = WEIGHT) -> Recognition:
    """The recognition with `surprise` (0 expected, 1 hardly meant) of its sentence and rivals taken into account.

    The margin becomes that of the weighed order. Where another sentence comes out best its margin is 0, so that it
    is asked about: the sound spoke for the first.
    """
    if not found.accepted or not found.alternatives:
        return found
    own = weight * surprise(found.text)
    rivals = [(one.behind + weight * surprise(one.text), one) for one in found.alternatives]
    nearest, other = min(rivals, key=lambda pair: pair[0])
    if nearest >= own:
        return replace(found, margin=nearest - own)
    return replace(found, text=other.text, cost=other.cost, margin=0.0)

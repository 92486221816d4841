"""How long a day a noise may be heard at work in the United States: 29 CFR 1910.95 table G-16 (read).

T = 8 / 2^((L - 90) / 5) hours: 5 dB halve the time. Below 90 dBA by the formula of appendix A (from memory).
From 85 dBA over eight hours on an employer has duties (1910.95(c)(1), read); Europe's limits are lower. Local
codes count.
"""

import math

from assistant.dough.ranges import NOISE_DBA

ACTION_DBA = 85.0
"""Level over eight hours from which hearing has to be looked after: 1910.95(c)(1) (read)."""


def hours(dba: float) -> float:
    """Permitted hours a day at a level (dBA)."""
    return 8.0 * math.exp2((90.0 - NOISE_DBA.check(dba)) / 5.0)

"""How sure a recognition is: the probability that the sentence was said, and said to the station. Pure.

A logistic regression (Cox 1958) on how the networks fit the sound; fitted and checked by
`python -m tests.bench.sureness`, whose RESULTS.md has what was fitted to and the reliability on other voices,
noises and people.
"""

import math
from dataclasses import astuple, dataclass

from assistant.ports import Evidence

WIDEST = 20.0
"""A lead is worth no more than one of so much log-probability."""
WORST = 5.0
"""A cost is worth no less than one of so much log-probability a phone."""


@dataclass(frozen=True, slots=True)
class Confidence:
    """What each thing adds to the log-odds that a recognition is right."""

    constant: float
    least_cost: float
    """Of the network that it fits best, for each unit of log-probability lost per phone."""
    greatest_cost: float
    """Of the network that it fits worst."""
    lead: float
    """For the square root of the mean lead: the first nats say most."""
    length: float
    """For the logarithm of the number of phones."""

    def probability(self, evidence: Evidence) -> float:
        """Probability that it is right."""
        worth = sum(a * b for a, b in zip(astuple(self), features(evidence), strict=True))
        return 1 / (1 + math.exp(-max(-30.0, min(30.0, worth))))

    def with_lead(self, probability: float, before: float, now: float) -> float:
        """The probability, were the mean lead `now` instead of `before`."""
        odds = probability / max(1e-12, 1 - probability)
        odds *= math.exp(self.lead * (_root(now) - _root(before)))
        return odds / (1 + odds)


def features(evidence: Evidence) -> tuple[float, float, float, float, float]:
    """What counts of the evidence, in the order of `Confidence`."""
    return (
        1.0,
        min(WORST, *evidence.costs),
        min(WORST, max(evidence.costs)),
        _root(sum(evidence.leads) / len(evidence.leads)),
        math.log(max(1, evidence.phones)),
    )


def _root(lead: float) -> float:
    return math.sqrt(min(WIDEST, max(0.0, lead)))


BOTH = Confidence(-5.47, -1.85, -0.04, 1.66, 1.68)
KITCHEN = Confidence(-5.47, -1.85, 0.0, 1.66, 1.68)
PACKAGED = Confidence(-5.47, -1.85, 0.0, 1.66, 1.68)
"""Of the two networks together, and of each alone."""

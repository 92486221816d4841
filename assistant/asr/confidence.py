"""How sure a recognition is: the probability that the sentence was said, and said to the station. Pure.

A logistic regression (Cox 1958) on how the networks fit the sound; fitted and checked by
`python -m tests.bench.sureness`; what it was fitted to is in `tests/bench/hearing/FINDINGS.md`.
"""

import math
from dataclasses import astuple, dataclass

from assistant.asr.network import Weights
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
    short_misfit: float
    """Of the greatest cost divided by the number of phones: a short sentence has to fit both."""

    def probability(self, evidence: Evidence) -> float:
        """Probability that it is right."""
        worth = sum(a * b for a, b in zip(astuple(self), features(evidence), strict=True))
        return _logistic(worth)


def features(evidence: Evidence) -> tuple[float, ...]:
    """What counts of the evidence, in the order of `Confidence`."""
    phones, greatest = max(1, evidence.phones), min(WORST, max(evidence.costs))
    return (
        1.0,
        min(WORST, *evidence.costs),
        greatest,
        _root(sum(evidence.leads) / len(evidence.leads)),
        math.log(phones),
        greatest / phones,
    )


def logit(probability: float) -> float:
    """Log-odds of a probability."""
    p = min(1 - 1e-12, max(1e-12, probability))
    return math.log(p / (1 - p))


def _logistic(odds: float) -> float:
    return 1 / (1 + math.exp(-max(-30.0, min(30.0, odds))))


def _root(lead: float) -> float:
    return math.sqrt(min(WIDEST, max(0.0, lead)))


@dataclass(frozen=True, slots=True)
class Moment:
    """What the moment adds to the log-odds: in a batch what can be meant now is likelier than talk."""

    constant: float
    log_odds: float
    """Of the sound alone."""
    surprise: float
    """Of how unexpected it is, 0 to 1 (`assistant.nlu.likelihood`)."""


ACCEPTED, NEAR = 0.6, 0.35
"""From which probability on a sentence may be acted on, and from which it may be asked about."""
UNCONFIRMED = 0.62
"""How sure a sentence is that the sound alone does not speak for: enough to be asked about at any moment of a
batch that it suits, too little to be acted on at the least `act_above` that a kitchen may set."""
BOTH = Confidence(-0.781, -2.059, 0.106, 1.718, -0.118, -5.357)
"""Of the two networks together."""
ALONE: dict[Weights, Confidence] = {
    "kitchen": Confidence(-2.75, -2.09, 0.0, 1.73, 0.36, -4.0),
    "packaged": Confidence(-2.05, -2.09, 0.0, 1.73, 0.36, 0.0),
}
"""Of each alone: rounded from an earlier fit of the pair. The kitchen's constant and what a short sentence is
worth were then chosen on the rows of both parts (FINDINGS.md); the packaged one's are not fitted to it."""
MOMENT = Moment(0.385, 1.288, -2.562)


def in_a_batch(probability: float) -> float:
    """The probability of what is to be expected at that moment of a batch."""
    return in_the_moment(probability, 0.0)


def in_the_moment(probability: float, surprise: float) -> float:
    """The probability with what the moment adds."""
    return _logistic(MOMENT.constant + MOMENT.log_odds * logit(probability) + MOMENT.surprise * surprise)

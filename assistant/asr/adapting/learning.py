"""A cook's confusions from sentences that were asked for, and whether they help. Pure but for the networks.

Two-fold cross-validation: what is learned from every other sentence is tried on those between, both ways.
What does not help there is not used, so that nobody is heard worse for it but by chance.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Generic

from assistant.asr.adapting.alignment import align
from assistant.asr.adapting.confusions import NO_COOK, Cook, counted
from assistant.asr.confidence import in_a_batch
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.ports import M, Sound

ENOUGH = 10
"""Sentences from which something can be learned."""
LEAST_GAIN = 0.02
"""By how much the probability of what was said has to rise on average, or it is not worth it."""


@dataclass(frozen=True, slots=True)
class Said(Generic[M]):
    """A sentence that a cook was asked for, and what was heard."""

    text: str
    means: M | None
    sound: Sound


@dataclass(frozen=True, slots=True)
class Learned:
    """What came of it."""

    cook: Cook
    """How the cook says the phones; empty where it does not help."""
    before: float
    """Probability that the recogniser gave to what was said, on average."""
    after: float
    """The same with what was learned from other sentences."""
    enough: bool = True
    """Whether there were sentences enough to learn from."""


def learned(
    recogniser: PhonemeRecogniser[M], said: Iterable[Said[M]], act_above: float, *, enough: int = ENOUGH
) -> Learned:
    """What is learned from all sentences, if it is worth it.

    `recogniser`: that of anybody. `act_above`: how sure it must be to act. `enough`: with fewer sentences
    nothing is learned. What fits worse than talk was something else and is left out.
    """
    fitting = [one for one in said if _cost(recogniser, one) <= recogniser.limits.talk]
    if len(fitting) < enough:
        return Learned(NO_COOK, 0.0, 0.0, enough=False)
    halves = fitting[::2], fitting[1::2]
    before = [_heard(recogniser, half, act_above) for half in halves]
    was = sum(half.sure for half in before) / len(fitting)
    if was + LEAST_GAIN > 1:
        return Learned(NO_COOK, was, was)  # there is nothing to gain
    after = [
        _heard(recogniser.hearing(ways_of(recogniser, others)), half, act_above)
        for half, others in zip(halves, reversed(halves), strict=True)
    ]
    would = sum(half.sure for half in after) / len(fitting)
    worse = any(new.is_worse(old) for new, old in zip(after, before, strict=True))
    helps = not worse and would >= was + LEAST_GAIN
    return Learned(ways_of(recogniser, fitting) if helps else NO_COOK, was, would)


def ways_of(recogniser: PhonemeRecogniser[M], said: Sequence[Said[M]]) -> Cook:
    """How the cook says the phones, for each network, whether or not that helps."""
    outputs = [recogniser.outputs(one.sound) for one in said]
    found = {}
    for number, expert in enumerate(recogniser.experts):
        network = expert.network
        paths = []
        for one, both in zip(said, outputs, strict=True):
            words = [expert.lexicon(word) for word in one.text.split()]
            path = align(both[number], words, blank=network.blank, boundary=network.boundary)
            if path is not None:
                paths.append((both[number], path))
        found[network.sha256] = counted(paths, network.symbols, network.blank, network.boundary)
    return found


@dataclass(frozen=True, slots=True)
class _Heard:
    """How some sentences are heard."""

    cost: float
    """Sum of what the true sentences lose per phone."""
    best: int
    """How often the true meaning is the best."""
    right: int
    wrong: int
    """How often it, and another, would be acted on at once."""
    sure: float
    """Sum of the probabilities of the true meanings."""

    def is_worse(self, than: "_Heard") -> bool:
        """In anything."""
        return (
            self.cost > than.cost
            or self.best < than.best
            or self.right < than.right
            or self.wrong > than.wrong
            or self.sure < than.sure
        )


def _heard(recogniser: PhonemeRecogniser[M], said: Iterable[Said[M]], act_above: float) -> _Heard:
    cost, best, right, wrong, sum_ = 0.0, 0, 0, 0, 0.0
    for one in said:
        cost += _cost(recogniser, one)
        found = recogniser.recognise(one.sound)
        sure = in_a_batch(found.sure)
        true = found.meaning is not None and found.meaning == one.means
        acted = found.accepted and sure >= act_above
        best += true
        right += true and acted
        wrong += acted and not true
        sum_ += sure if true else 0.0
    return _Heard(cost, best, right, wrong, sum_)


def _cost(recogniser: PhonemeRecogniser[M], one: Said[M]) -> float:
    return recogniser.cost_of(one.text, recogniser.outputs(one.sound))

"""What could have been meant decides between hypotheses that scored nearly alike. Pure.

Rule: the penalty is bounded, and it only ever makes the station ask. A sentence that was heard clearly, with
a margin above the weight, stays the best whatever it means; one that is put back by the penalty is asked
about, never lost. How sure the best one is follows from the sound and the moment together, as measured
(`assistant.asr.confidence`); what was heard does not change for it: an honest cook's "thirteen" would be
logged as thirty.
"""

from collections.abc import Callable
from dataclasses import replace

from assistant.asr.confidence import ACCEPTED, NEAR, UNCONFIRMED, in_the_moment
from assistant.batch.decide.making.mishearing import are_twins, says_a_teen
from assistant.batch.record.commands import Command, SameAgain, SayAgain
from assistant.ports import M, Recognition

SURPRISE = 4.0
"""Penalty of the least expected meaning (log-probability)."""


def rescored(found: Recognition[M], surprise: Callable[[M | None], float]) -> Recognition[M]:
    """The recognition, with the `surprise` (0 expected, 1 hardly meant) of each hypothesis as a penalty.

    The margin becomes that of the rescored order where it is smaller. Where another hypothesis comes out best
    it is only as sure as what is asked about: the sound spoke for the first.
    """
    found = _reordered(found, surprise) if found.accepted and found.alternatives else found
    if found.accepted and negation_near(found):
        found = replace(found, sure=min(found.sure, UNCONFIRMED))
    sure = in_the_moment(found.sure, surprise(found.meaning)) if found.meaning is not None else found.sure
    return replace(found, sure=sure, accepted=sure >= ACCEPTED, near=NEAR <= sure < ACCEPTED)


NEGATIONS = frozenset({"not", "never", "cannot"})
"""English words that turn a sentence round, beside those in n't.

"No" is none of them: "new batch two kilos" sounds like "no batch two kilos", which nobody says.
"""


TURNED_LEADS = 9.0
"""Lead (log-probability) of one network over the sentence turned round below which it is not clear of it.

Of 194 sentences ("you can stop the sauce", "the crumb is ready"; 14 voices, quiet and 10 dB) 6 had such a
rival nearer; of 13 that were turned round and heard without their n't, 10.
"""


def negation_near(found: Recognition[M]) -> bool:
    """Whether the sentence may have been turned round: "isn't ready" instead of "is ready".

    Of two networks one that heard the nearest sentence so is enough: on average it is clear of that, for the
    other loses the n't of some voices, and is sure of it. One alone has to be clear by `TURNED_LEADS`.
    """
    if found.evidence is None:
        return False
    leads = found.evidence.leads
    turned = [
        rival.behind
        for rival in (found.alternatives if len(leads) == 1 else found.alternatives[:1])
        if rival.meaning is None and _negations(rival.text) > _negations(found.text)
    ]
    return bool(turned) and (min(turned) < TURNED_LEADS if len(leads) == 1 else min(leads) < 0)


def _negations(sentence: str) -> int:
    return sum(word in NEGATIONS or word.endswith("n't") for word in sentence.split())


def _reordered(found: Recognition[M], surprise: Callable[[M | None], float]) -> Recognition[M]:
    own = SURPRISE * surprise(found.meaning)
    rivals = [(rival.behind + SURPRISE * surprise(rival.meaning), rival) for rival in found.alternatives]
    nearest, other = min(rivals, key=lambda pair: pair[0])
    if nearest >= own:
        return replace(found, margin=min(found.margin, nearest - own))
    return replace(found, best=other, margin=0.0, sure=UNCONFIRMED)


TWIN_LEADS = 3.0
"""A number is clear of its twin from so many times the needed margin on."""
TEENS_CLEAR_DB = 35.0
"""Speech so far above the noise (dB) leaves no -ty to be heard as a -teen.

Noise that goes on where the word ends is heard as the n of "fifteen", with any margin: of one real voice's
numbers in -ty a third at 10 dB and some at 30 dB, none at 35 dB; never a -teen as a -ty
(`tests/bench/hearing/FINDINGS.md`).
"""


def is_twin_near(found: Recognition[Command], snr_db: float | None) -> bool:
    """Whether the number that was heard may be its twin by the sound.

    `snr_db`: of speech over noise; None where there was no noise.
    """
    meaning = found.meaning
    if meaning is None:
        return False
    if snr_db is not None and snr_db < TEENS_CLEAR_DB and says_a_teen(meaning):
        return True
    return any(
        rival.meaning is not None
        and rival.behind < TWIN_LEADS * needed_margin(snr_db)
        and are_twins(meaning, rival.meaning)
        for rival in found.alternatives
    )


SAME_AGAIN_LEADS = 2.75
"""Within so many margins behind "say again" it may have been "same again".

The fine-tuned network loses the m: of 30 clips of "same again" it heard all as "say again", with "same again"
5.0 to 10.5 behind at a margin of 4; of 30 of "say again" all rightly, with "same again" 11.9 and more behind
(ten voices of espeak-ng, in quiet, at 10 and at 5 dB).
"""


def same_again_instead(found: Recognition[Command]) -> Recognition[Command]:
    """A "say again" that may be "same again" as that, not sure, so that it is asked about.

    For moments at which a batch can be made again.
    """
    if not found.accepted or not isinstance(found.meaning, SayAgain):
        return found
    within = SAME_AGAIN_LEADS * MARGIN
    for rival in found.alternatives:
        if isinstance(rival.meaning, SameAgain) and rival.behind < within:
            return replace(found, best=rival, margin=0.0, sure=UNCONFIRMED)
    return found


MARGIN = 4.0
"""Lead (log-probability) in quiet below which a meaning is not clear of another."""


def needed_margin(snr_db: float | None) -> float:
    """Lead that a number needs over another: `MARGIN` at 20 dB of speech over noise, half more at 0 dB.

    `snr_db` None: not known. The louder the noise, the wider the leads at which numbers are still mistaken.
    In quiet it is not lowered (`tests/bench/hearing/FINDINGS.md`).
    """
    if snr_db is None:
        return MARGIN
    return MARGIN * min(1.5, max(1.0, 1 + (20 - snr_db) / 40))

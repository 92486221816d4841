"""The made corpora of a run: commands by walks and by simulated cooks, and talk."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from assistant.app.application import Application
from assistant.ports import SPEECH_RATE, Asking, Pcm
from tests.bench.hearing.cooks import Moment, moments
from tests.bench.hearing.hearing import Case
from tests.bench.hearing.sentences import Part, kitchen_talk, part_of, walks
from tests.bench.hearing.sounds import BEFORE_S, Noise, Wave, mixed, noises, rooms
from tests.bench.hearing.voices import Speaker, available, speak

_NONE: Pcm = np.zeros(0, np.int16)
SNRS = (None, 20, 10, 5, 0)
"""dB; None: clean."""
ROOM_EVERY = 4
"""Every fourth clip is in a room."""


@dataclass(frozen=True)
class Size:
    """How much is made."""

    walks: int
    """Sentences a voice by random walks."""
    cooks: int
    """Sentences a voice by simulated cooks."""
    talk: int
    """Sentences of talk."""
    snrs: tuple[int | None, ...]
    """Ratios of the commands (dB); None: clean."""
    talk_snrs: tuple[int | None, ...]
    """Ratios of the talk (dB); None: clean."""
    real: int
    """Most real clips of a kind."""
    rivals: int
    """Commands of each corpus for the rivals."""


QUICK = Size(walks=4, cooks=3, talk=40, snrs=(None, 10), talk_snrs=(None,), real=20, rivals=8)
FULL = Size(walks=20, cooks=20, talk=300, snrs=SNRS, talk_snrs=(None, 10, 5), real=120, rivals=25)


@dataclass(frozen=True)
class Maker:
    """Makes the clips of one part. `speech`: folder of real recordings, or None."""

    application: Application
    part: Part
    speech: Path | None
    size: Size
    seed: int = 1

    def commands(self) -> Iterator[Case]:
        """Sentences by random walks, all forms of the grammar alike, every sentence at every ratio."""
        voices = available(self.part)
        said = itertools.islice(
            walks(self.application.grammar, self.part, self.seed), len(voices) * self.size.walks
        )
        yield from self.spread(voices, [Case(text, command, _NONE, "", "", "") for text, command in said])

    def cooks(self, voices: list[Speaker] | None = None) -> Iterator[Case]:
        """Sentences of simulated batches, with the state in which each was said.

        `voices`: other than those of the part.
        """
        voices = available(self.part) if voices is None else voices
        said = moments(self.application.grammar, self.part, self.application.rules, self.application.recipes)
        # Every third moment: amounts are what matters, and the neighbours of one are much alike.
        picked = itertools.islice(
            (m for m in said if self._wanted(m.text) and (_has_number(m.text) or m.now % 3 < 1)),
            len(voices) * self.size.cooks,
        )
        yield from self.spread(
            voices,
            [as_case(m) for m in picked],
        )

    def _wanted(self, text: str) -> bool:
        """Batches repeat what has no number; with one, a sentence belongs to its part only."""
        return not _has_number(text) or part_of(text) == self.part

    def talk(self) -> Iterator[Case]:
        """Talk and near misses that must not be acted on."""
        voices = available(self.part)
        said = kitchen_talk(self.application.grammar, self.part, self.size.talk)
        cases = [Case(text, None, _NONE, "", "", "") for text in said]
        yield from self.spread(voices, cases, self.size.talk_snrs)

    def spread(
        self, voices: list[Speaker], cases: list[Case], snrs: tuple[int | None, ...] | None = None
    ) -> Iterator[Case]:
        """Clips of the cases, each by one of the voices, in noise at each ratio (dB)."""
        around, places = noises(self.part, self.speech), rooms(self.part, self.speech)
        for turn, voice in enumerate(voices):
            own = cases[turn :: len(voices)]
            for count, (case, pcm) in enumerate(
                zip(own, speak(voice, [case.text for case in own]), strict=True)
            ):
                seed = 1000 * turn + count
                room = places[seed % len(places)] if count % ROOM_EVERY == 0 else None
                noise = around[seed % len(around)]
                for snr in self.size.snrs if snrs is None else snrs:
                    yield _placed(case, voice.name, pcm, None if snr is None else noise, snr, seed, room)


def _placed(
    case: Case, voice: str, pcm: Pcm, noise: Noise | None, snr: int | None, seed: int, room: Wave | None
) -> Case:
    clip = mixed(pcm, noise, 99.0 if snr is None else snr, seed, room)
    return replace(
        case,
        pcm=clip,
        voice=voice,
        noise="none" if noise is None else noise.name,
        snr="clean" if snr is None else f"{snr} dB",
        end_s=BEFORE_S + len(pcm) / SPEECH_RATE,
    )


def _has_number(text: str) -> bool:
    return any(word in text for word in ("teen", "ty", "hundred", "one", "two", "five"))


def as_case(m: Moment) -> Case:
    """A sentence of a cook in the state of its batch."""
    asking = Asking.NOTHING if m.state.question is None else Asking.ANSWER
    return Case(m.text, m.command, _NONE, "", "", "", m.state, m.now, asking, m.odd)

# mypy: disable-error-code="import-not-found"
"""What the network is trained with: clips on the accelerator, and for each the phones that it is to write."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import torch
from numpy.typing import NDArray

from tests.bench.finetune.archive import BOUNDARY
from tests.bench.finetune.lexicon import Phones, joined
from tests.bench.finetune.network import Weights, ctc, output
from tests.bench.finetune.sound.augment import Bank
from tests.bench.finetune.speech.corpus import Clip, Corpus

WINDOWS = (11_200, 16_000, 22_400, 32_000, 44_800, 64_000, 96_000, 128_000)
"""Samples of the windows; a clip goes into the smallest that holds it with the surroundings drawn for it."""
_AROUND = ((1_600, 0.32), (6_400, 0.36), (12_800, 0.2), (32_000, 0.12))
"""Samples around a clip, and how often: few, or many as where the end of speech isn't found because others
talk."""
LONGEST = 110_000
"""Samples of the longest clip to train with."""
RIVALS = 3
"""Most rival sentences of a sentence."""


@dataclass(frozen=True, slots=True, eq=False)
class TrainingSet:
    """Clips on the accelerator with their targets; the last row is noise alone."""

    bank: Bank
    target: torch.Tensor
    """Phones (clips, longest)."""
    target_length: torch.Tensor
    rival: torch.Tensor
    """Phones of the rivals (clips, RIVALS, longest)."""
    rival_length: torch.Tensor
    """Their lengths (clips, RIVALS); 0 where there is none."""
    ctc: torch.Tensor
    """Weight of each clip's CTC loss."""
    like: torch.Tensor
    """Weight of each clip's divergence from the teacher."""
    teacher: torch.Tensor
    """Which teacher each clip has."""
    share: NDArray[np.float64]
    """Probability with which each clip is drawn."""
    window: NDArray[np.int64]
    """Samples of the window that each clip fits."""


Heard = tuple[Phones, float, int]
"""A clip's target, its loss per phone, and which teacher hears it so."""


def training_set(
    corpus: Corpus,
    spelled: Callable[[str], Sequence[Sequence[Phones]]],
    share: Callable[[Clip], float],
    noise: NDArray[np.int16],
    people: tuple[int, int],
    rooms: NDArray[np.float32],
    teachers: Sequence[Weights],
    noise_alone: float = 0.03,
    rivals: Callable[[str], Sequence[tuple[int, Phones]]] = lambda _text: [],
    known: dict[tuple[str, str, int], Heard] | None = None,
) -> TrainingSet:
    """Prepare a corpus: of the spellings of each clip's words those that a teacher hears best.

    `share`: how often a clip is drawn. `people`: how many of the last noises are people, and how
    many of the last one person each. `rivals`: which word of a sentence may be misheard, and for what phones.
    `known`: what was found for clips before (voice, text, samples); it grows.
    """
    device = teachers[0]["mel_fb"].device
    fits = [c for c in corpus.clips if c.samples / 1.16 + 1600 <= LONGEST]
    known = {} if known is None else known
    new = [c for c in fits if (c.voice, c.text, c.samples) not in known]
    heard_as = best_targets(corpus, new, [spelled(c.text) for c in new], teachers)
    known.update({(c.voice, c.text, c.samples): one for c, one in zip(new, heard_as, strict=True)})
    chosen = [known[c.voice, c.text, c.samples] for c in fits]
    best, fit = [target for target, _, _ in chosen], np.array([loss for _, loss, _ in chosen])
    others = [
        [with_word(target, place, phones) for place, phones in list(rivals(c.text))[:RIVALS]]
        for c, target in zip(fits, best, strict=True)
    ]
    longest = max(len(t) for row in (best, *others) for t in row)
    target = torch.zeros((len(best) + 1, longest), dtype=torch.long)
    rival = torch.zeros((len(best) + 1, RIVALS, longest), dtype=torch.long)
    rival_length = torch.zeros((len(best) + 1, RIVALS), dtype=torch.long)
    for row, phones in enumerate(best):
        target[row, : len(phones)] = torch.tensor(phones)
        for place, other in enumerate(others[row]):
            rival[row, place, : len(other)] = torch.tensor(other)
            rival_length[row, place] = len(other)
    command = np.array([c.kind in ("command", "number", "real") for c in fits])
    prompted = np.array([c.kind == "people" for c in fits])
    # 1 where the teacher hears the clip as spelled, 0 where it does not.
    heard = 1 / (1 + np.exp(4 * (fit - 0.9)))
    # An accent costs a teacher 1 to 2 a phone; what costs more was hardly said.
    said = 1 / (1 + np.exp(4 * (fit - 2.0)))
    ctc_weight = np.where(command, 1.0, np.where(prompted, said, np.maximum(heard, 0.6)))
    # Commands have pronunciations of our own: there the teacher is a restraint rather than a model.
    like_weight = np.where(command, 0.4 * heard, np.where(prompted, heard, 0.3 + 0.7 * heard))
    shares = np.array([share(c) for c in fits])
    shares = shares / shares.sum()
    frames = np.array([len(t) + sum(a == b for a, b in pairwise(t)) for t in best])
    spare = np.random.default_rng(3).choice([n for n, _ in _AROUND], len(fits), p=[p for _, p in _AROUND])
    need = np.array([c.samples for c in fits]) / 1.08 + spare
    window = np.array(
        [
            next((w for w in WINDOWS if w >= n and w // 320 > 1.3 * f), WINDOWS[-1])
            for n, f in zip(need, frames, strict=True)
        ]
    )
    bank = Bank(
        torch.from_numpy(corpus.pcm).to(device),
        torch.tensor([c.start for c in fits] + [0], device=device),
        torch.tensor([c.samples for c in fits] + [0], device=device),
        torch.from_numpy(noise).to(device),
        *people,
        torch.from_numpy(rooms).to(device),
    )

    def on(values: Sequence[float] | NDArray[np.float64], last: float) -> torch.Tensor:
        return torch.tensor([*values, last], dtype=torch.float32, device=device)

    return TrainingSet(
        bank,
        target.to(device),
        torch.tensor([len(t) for t in best] + [0], device=device),
        rival.to(device),
        rival_length.to(device),
        on(ctc_weight, 0.02),
        on(like_weight, 0.0),
        torch.tensor([number for _, _, number in chosen] + [0], device=device),
        np.append(shares * (1 - noise_alone), noise_alone),
        np.append(window, WINDOWS[3]),
    )


def with_word(target: Sequence[int], place: int, phones: Sequence[int]) -> tuple[int, ...]:
    """A sentence's phones with one of its words changed, or left out where there are no phones."""
    words: list[list[int]] = [[]]
    for phone in target:
        if phone == BOUNDARY:
            words.append([])
        else:
            words[-1].append(phone)
    words[place] = list(phones)
    joined = [phone for word in words if word for phone in (*word, BOUNDARY)]
    return tuple(joined[:-1])


def best_targets(
    corpus: Corpus,
    clips: Sequence[Clip],
    spelled: Sequence[Sequence[Sequence[Phones]]],
    teachers: Sequence[Weights],
    batch: int = 64,
) -> list[Heard]:
    """For each clip the spelling of each word that its teacher hears best, and the teacher that hears best.

    Words are tried one at a time against their first spellings, at most FLIPS a clip.
    """
    device = teachers[0]["mel_fb"].device
    order = sorted(range(len(clips)), key=lambda i: clips[i].samples)
    found: list[Heard] = [((), 0.0, 0)] * len(clips)
    for first in range(0, len(order), batch):
        rows = order[first : first + batch]
        tries = [_tries(spelled[i]) for i in rows]
        places = [place for place, row in enumerate(tries) for _ in row]
        wanted = [_joined(spelled[i], one) for i, row in zip(rows, tries, strict=True) for one in row]
        wave = _side_by_side(corpus, [clips[i] for i in rows]).to(device)
        losses = np.stack([_losses_of(teacher, wave, places, wanted) for teacher in teachers])
        at = 0
        for i, row in zip(rows, tries, strict=True):
            mine = losses[:, at : at + len(row)]
            at += len(row)
            number = int(mine[:, 0].argmin()) if len(row) == 1 else int(mine.min(1).argmin())
            loss = mine[number]
            ways = [0] * len(spelled[i])
            for word, way in enumerate(ways):
                others = [(loss[n], one[word]) for n, one in enumerate(row) if one[word] != way]
                if others and min(others)[0] < loss[0]:
                    ways[word] = min(others)[1]
            target = _joined(spelled[i], ways)
            found[i] = target, float(loss.min()) / max(1, len(target)), number
    return found


FLIPS = 8
"""Most spellings that are tried against the first ones in a clip."""


def _tries(spelled: Sequence[Sequence[Phones]]) -> list[tuple[int, ...]]:
    """Which spelling of each word: the first of all, then one word at a time otherwise."""
    first = (0,) * len(spelled)
    flips = [
        (*first[:word], way, *first[word + 1 :])
        for word, ways in enumerate(spelled)
        for way in range(1, len(ways))
    ]
    return [first, *flips[:FLIPS]]


def _joined(spelled: Sequence[Sequence[Phones]], ways: Sequence[int]) -> Phones:
    return joined([word[way] for word, way in zip(spelled, ways, strict=True)])


def _side_by_side(corpus: Corpus, clips: Sequence[Clip]) -> torch.Tensor:
    window = max(WINDOWS[2], max(clip.samples for clip in clips) + 3200)
    wave = torch.zeros((len(clips), window))
    for place, clip in enumerate(clips):
        sound = corpus.sound(clip)
        wave[place, 1600 : 1600 + len(sound)] = torch.from_numpy(sound.astype(np.float32) / 32768)
    return wave + 2e-4 * torch.randn(wave.shape)


def _losses_of(
    teacher: Weights, wave: torch.Tensor, places: Sequence[int], wanted: Sequence[Phones]
) -> NDArray[np.float32]:
    """CTC loss of each target in the sound at its place; 9 a phone where it cannot be aligned."""
    with torch.no_grad():
        heard = output(teacher, wave, half=False)
    target = torch.zeros((len(wanted), max(1, *(len(t) for t in wanted))), dtype=torch.long)
    for row, phones in enumerate(wanted):
        target[row, : len(phones)] = torch.tensor(phones)
    length = torch.tensor([len(t) for t in wanted])
    losses = []
    for first in range(0, len(wanted), 1024):
        part = slice(first, first + 1024)
        losses.append(
            ctc(heard[list(places[part])], target[part].to(wave.device), length[part]).cpu().numpy()
        )
    loss = np.concatenate(losses)
    return np.where(loss == 0, 9.0 * length.numpy(), loss)

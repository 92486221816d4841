# mypy: disable-error-code="import-not-found"
"""Fine-tunes the phoneme network for speech next to a motor.

Loss: CTC on the phones of what is said, plus the divergence from a teacher's output on the same clip without
noise (distillation from the better of several teachers, after You et al. 2017, "Learning from multiple teacher
networks", from memory). The teachers are earlier networks, the packaged one first; of each clip that one
teaches which hears it better as it is spelled. A clip that all of them mishear, or write otherwise, has the
CTC loss alone. Where a word is said that is misheard for another, or lost, the sentence with the other in its
place is to be less likely by a margin (after boosted MMI, Povey et al. 2008, from memory). Talk is trained
like commands, so that the network stays a general recogniser and goes on rejecting; where no teacher hears
the spelling, both losses weigh less, most of all where people may have said something else than their prompt.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import torch
from numpy.typing import NDArray
from torch.nn import functional

from tests.bench.finetune.archive import BLANK, BOUNDARY
from tests.bench.finetune.network import SPECTRUM, Weights, encode, log_mel, warped_banks, weights
from tests.bench.finetune.sound.augment import Bank, Kitchen, Recipe
from tests.bench.finetune.speech.corpus import Clip, Corpus

Phones = tuple[int, ...]
WINDOWS = (11_200, 16_000, 22_400, 32_000, 44_800, 64_000, 96_000, 128_000)
"""Samples of the windows; a clip goes into the smallest that holds it with the surroundings drawn for it."""
_AROUND = ((1_600, 0.32), (6_400, 0.36), (12_800, 0.2), (32_000, 0.12))
"""Samples around a clip, and how often: few, or many as where the end of speech isn't found because others
talk."""
LONGEST = 110_000
"""Samples of the longest clip to train with."""
RIVALS = 3
"""Most rival sentences of a sentence."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How it is trained."""

    steps: int = 20_000
    samples: int = 12_000_000
    """Samples per batch."""
    rate: float = 1.2e-3
    """Highest learning rate."""
    warmup: int = 400
    """Steps up to it."""
    decay: float = 0.01
    """Weight decay."""
    keep: float = 0.999
    """Decay of the running average of the weights, which is what is exported."""
    drop: float = 0.05
    """Dropout."""
    likeness: float = 0.15
    """Weight of the divergence from the teacher at the start; it falls to a third."""
    like_every: int = 2
    """Steps between two evaluations of the teachers; its weight grows with them."""
    rival: float = 1.0
    """Weight of the loss for a rival that is too likely."""
    apart: float = 8.0
    """Log-probability by which a rival is to be behind: twice the margin below which the recogniser asks."""
    warp: bool = True
    """Whether every sound is heard as if from a vocal tract of another length."""
    half: bool = True
    """Whether the network uses bf16 arithmetic."""


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


def output(
    w: Weights,
    wave: torch.Tensor,
    half: bool,
    drop: float = 0.0,
    hide: Kitchen | None = None,
    warped: torch.Tensor | None = None,
) -> torch.Tensor:
    """Log-probabilities (batch, frames, 191) in float32.

    `hide`: cover a random band of the spectrum; `warped` (n, 201, 80): hear each sound through one of these
    banks.
    """
    banks = None
    if hide is not None and warped is not None:
        banks = warped[(hide.uniform(len(wave)) * len(warped)).long()]
    with torch.autocast(wave.device.type, enabled=False):
        mel = log_mel(w, wave, banks)
    if hide is not None:
        n = len(mel)
        low = hide.uniform(n, 0, 80)[:, None]
        wide = hide.uniform(n, 0, 14)[:, None] * (hide.uniform(n) < 0.4)[:, None]
        band = torch.arange(80, device=mel.device)[None]
        covered = (band >= low) & (band < low + wide)
        mel = torch.where(covered[:, :, None], mel.mean((1, 2), keepdim=True), mel)
    with torch.autocast(wave.device.type, torch.bfloat16, enabled=half):
        logits = encode(w, mel, drop)
    return functional.log_softmax(logits.float(), -1)


def ctc(log_probabilities: torch.Tensor, target: torch.Tensor, length: torch.Tensor) -> torch.Tensor:
    """Loss of each of a batch, (batch,). With `length` on the CPU nothing waits for the accelerator."""
    frames = torch.full((len(target),), log_probabilities.shape[1], dtype=torch.long)
    return functional.ctc_loss(
        log_probabilities.transpose(0, 1), target, frames, length, BLANK, "none", zero_infinity=True
    )


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
    phones = [phone for word, way in zip(spelled, ways, strict=True) for phone in (*word[way], BOUNDARY)]
    return tuple(phones[:-1])


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


def batches(training_set: TrainingSet, plan: Plan, seed: int) -> Iterator[tuple[torch.Tensor, int]]:
    """Numbers of clips and the window they share, by the clips' shares."""
    random = np.random.default_rng(seed)
    members = {int(w): np.flatnonzero(training_set.window == w) for w in np.unique(training_set.window)}
    weight = {w: training_set.share[rows] for w, rows in members.items()}
    # A longer window holds fewer clips: draw it more often, so that every clip keeps its share.
    odds = np.array([weight[w].sum() * w for w in members])
    running = {w: np.cumsum(weight[w]) / weight[w].sum() for w in members}
    known = list(members)
    while True:
        window = known[int(random.choice(len(known), p=odds / odds.sum()))]
        n = max(1, plan.samples // window)
        drawn = np.searchsorted(running[window], random.random(n)).clip(max=len(members[window]) - 1)
        yield torch.from_numpy(members[window][drawn]), window


@dataclass(frozen=True, slots=True)
class Cards:
    """Accelerators that train together: each draws batches of its own, and their gradients are averaged."""

    number: int = 0
    count: int = 1

    def mean(self, tensors: Sequence[torch.Tensor]) -> None:
        """Replace tensors by their means over the cards."""
        if self.count == 1:
            return
        joined = torch.cat([t.reshape(-1) for t in tensors])
        torch.distributed.all_reduce(joined)
        joined /= self.count
        parts = joined.split([t.numel() for t in tensors])
        torch._foreach_copy_(list(tensors), [p.view_as(t) for p, t in zip(parts, tensors, strict=True)])


class Student:
    """The network in training, and the running average of its weights."""

    def __init__(
        self,
        start: dict[str, NDArray[np.float32]],
        teachers: Sequence[Weights],
        plan: Plan,
        seed: int,
        cards: Cards = Cards(),
    ) -> None:
        self.plan, self.cards, self.teachers = plan, cards, tuple(teachers)
        device = teachers[0]["mel_fb"].device
        self._seed = seed + 1000 * cards.number
        self._draw = torch.Generator().manual_seed(self._seed)
        self._weights = weights(start, str(device))
        self._warped = warped_banks(self._weights) if plan.warp else None
        self._trained = {name: tensor for name, tensor in self._weights.items() if name not in SPECTRUM}
        flat = [t for t in self._trained.values() if t.dim() > 1]
        rest = [t for t in self._trained.values() if t.dim() <= 1]
        groups = [{"params": flat, "weight_decay": plan.decay}, {"params": rest, "weight_decay": 0.0}]
        self._optimiser = torch.optim.AdamW(groups, plan.rate, (0.9, 0.98), fused=device.type == "cuda")
        self.average = {name: tensor.detach().clone() for name, tensor in self._trained.items()}
        self.step = 0
        torch.manual_seed(self._seed)

    def use(self, training_set: TrainingSet, recipe: Recipe = Recipe()) -> None:  # noqa: B008 - immutable
        """Train with this set from now on."""
        self._training_set = training_set
        self._lengths = training_set.target_length.cpu()
        self._rival_lengths = training_set.rival_length.cpu()
        self._teacher_of = training_set.teacher.cpu()
        self._kitchen = Kitchen(training_set.bank, self._seed + self.step, recipe)
        self._source = batches(training_set, self.plan, self._seed + self.step)

    def train_step(self, used: float) -> torch.Tensor:
        """One step; `used`: share of the training that is over.

        Returns the losses (ctc, rivals, likeness).
        """
        plan, training_set = self.plan, self._training_set
        rate = plan.rate * min(1.0, (self.step + 1) / plan.warmup) * (0.5 + 0.5 * math.cos(math.pi * used))
        for group in self._optimiser.param_groups:
            group["lr"] = rate + 1e-6
        drawn, window = next(self._source)
        chosen = drawn.to(training_set.target.device)
        with torch.no_grad():
            clean, noisy = self._kitchen.batch(chosen, window)
        heard = output(self._weights, noisy, plan.half, plan.drop, self._kitchen, self._warped)
        phones = training_set.target_length[chosen].clamp_min(1)
        spelled, rivals = self._losses(heard, drawn, chosen)
        spelled = (spelled / phones * training_set.ctc[chosen]).mean()
        rivals = (rivals / phones * training_set.ctc[chosen]).mean()
        alike = torch.zeros_like(spelled)
        if self.step % plan.like_every == 0:
            with torch.no_grad():
                wanted = self._taught(clean, drawn)
            apart = functional.kl_div(heard, wanted, log_target=True, reduction="none").sum((1, 2)) / phones
            alike = plan.like_every * (apart * training_set.like[chosen]).mean()
        loss = spelled + plan.rival * rivals + plan.likeness * (1 - 0.67 * used) * alike
        self._optimiser.zero_grad(set_to_none=True)
        loss.backward()
        trained = list(self._trained.values())
        self.cards.mean([t.grad for t in trained if t.grad is not None])
        torch.nn.utils.clip_grad_norm_(trained, 1.0)
        self._optimiser.step()
        keep = min(plan.keep, 1 - 1 / (1 + self.step / 10))
        with torch.no_grad():
            torch._foreach_lerp_(list(self.average.values()), [t.detach() for t in trained], 1 - keep)
        self.step += 1
        return torch.stack([spelled.detach(), rivals.detach(), alike.detach()])

    def _taught(self, clean: torch.Tensor, drawn: torch.Tensor) -> torch.Tensor:
        """What the teacher of each clip of a batch hears in its clean sound."""
        parts, order = [], []
        for number, teacher in enumerate(self.teachers):
            rows = (self._teacher_of[drawn] == number).nonzero()[:, 0]
            if len(rows):
                order.append(rows)
                parts.append(output(teacher, clean[rows.to(clean.device)], self.plan.half))
        back = torch.cat(order).argsort().to(clean.device)
        return torch.cat(parts)[back]

    def _losses(
        self, heard: torch.Tensor, drawn: torch.Tensor, chosen: torch.Tensor
    ) -> tuple[torch.Tensor, torch.Tensor]:
        """CTC loss of each of a batch, and the loss for one of its rivals (0 where it has none)."""
        training_set = self._training_set
        turn = torch.randint(RIVALS, drawn.shape, generator=self._draw)
        length = self._rival_lengths[drawn, turn]
        rows = length.nonzero()[:, 0]
        where = rows.to(heard.device)
        rival = training_set.rival[chosen[where], turn[rows].to(heard.device)]
        loss = ctc(
            torch.cat([heard, heard[where]]),
            torch.cat([training_set.target[chosen], rival]),
            torch.cat([self._lengths[drawn], length[rows]]),
        )
        right, other = loss[: len(heard)], loss[len(heard) :]
        behind = functional.softplus(self.plan.apart - (other - right[where]))
        # What cannot be aligned in that few frames has a loss of zero.
        behind = torch.where((other > 0) & (right[where] > 0), behind, 0.0)
        return right, torch.zeros_like(right).index_add(0, where, behind)


def fine_tune(
    student: Student,
    training_set: TrainingSet,
    report: Callable[[int, list[float], Weights], None],
    every: int = 500,
    recipe: Recipe = Recipe(),  # noqa: B008 - immutable
    stop: Callable[[], float] = lambda: 0.0,
    renew: Callable[[float], TrainingSet | None] = lambda _used: None,
) -> dict[str, NDArray[np.float32]]:
    """Train; returns the running average of the weights. `report(step, losses, average)` each `every` steps.

    `stop()`: share of the time that is used up, 0..1; it bends the schedule so that the rate reaches zero in
    time. `renew(used)`: a training set to go on with, or None; every card asks at the same step.
    """
    plan = student.plan
    student.use(training_set, recipe)
    seen = torch.zeros(3, device=training_set.target.device)
    used = torch.zeros(1, device=training_set.target.device)
    while student.step < plan.steps:
        if student.step % 20 == 0:
            used.fill_(max(student.step / plan.steps, stop()))
            student.cards.mean([used])
            if used.item() >= 1:
                break
            more = renew(used.item())
            if more is not None:
                student.use(more, recipe)
        seen += student.train_step(used.item())
        if student.step % every == 0:
            report(student.step, (seen / every).tolist(), {**student.teachers[0], **student.average})
            seen.zero_()
    return {name: tensor.float().cpu().numpy() for name, tensor in student.average.items()}

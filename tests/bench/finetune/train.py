# mypy: disable-error-code="import-not-found"
"""Fine-tunes the phoneme network for speech next to a motor.

Loss: CTC on the phones of what is said, plus the divergence from the packaged network's output on the same
clip without noise (the teacher of a distillation). A clip that the packaged network itself mishears, or
writes otherwise, has the CTC loss alone. Where a number is said, the sentence with another number in its
place is to be less likely by a margin (after boosted MMI, Povey et al. 2008, from memory). Talk is trained
like commands, so that the network stays a general recogniser and goes on rejecting; where the packaged
network does not hear the spelling, both losses weigh a little less.
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
from tests.bench.finetune.speech.corpus import Corpus

WINDOWS = (11_200, 16_000, 22_400, 32_000, 44_800, 64_000, 96_000)
"""Samples of the windows; a clip goes into the smallest that holds it with the surroundings drawn for it."""
_AROUND = ((1_600, 0.32), (6_400, 0.36), (12_800, 0.2), (32_000, 0.12))
"""Samples around a clip, and how often: few, or many as where the end of speech isn't found because others
talk."""
LONGEST = 64_000
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
    """Weight of the divergence from the packaged network at the start; it falls to a third."""
    like_every: int = 2
    """Steps between two evaluations of the packaged network; its weight grows with them."""
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


def training_set(
    corpus: Corpus,
    candidates: Callable[[str], Sequence[tuple[int, ...]]],
    share: Callable[[str, str], float],
    noise: NDArray[np.int16],
    people: tuple[int, int],
    rooms: NDArray[np.float32],
    teacher: Weights,
    noise_alone: float = 0.03,
    rivals: Callable[[str], Sequence[tuple[int, tuple[int, ...]]]] = lambda _text: [],
) -> TrainingSet:
    """Prepare a corpus: of each clip's candidate targets the one that the teacher hears best.

    `share(kind, voice)`: how often a clip is drawn. `people`: how many of the last noises are people, and how
    many of the last one person each. `rivals`: which word of a sentence may be misheard, and for what phones.
    """
    device = teacher["mel_fb"].device
    fits = [c for c in corpus.clips if c.samples / 1.16 + 1600 <= LONGEST]
    found = [list(candidates(c.text)) for c in fits]
    best, fit = _best_targets(corpus, fits, found, teacher)
    others = [
        [with_word(spelled, place, phones) for place, phones in list(rivals(c.text))[:RIVALS]]
        for c, spelled in zip(fits, best, strict=True)
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
    # 1 where the teacher hears the clip as spelled, 0 where it does not.
    heard = 1 / (1 + np.exp(4 * (fit - 0.9)))
    ctc_weight = np.where(command, 1.0, np.maximum(heard, 0.6))
    # Commands have pronunciations of our own: there the teacher is not a model, only a restraint.
    like_weight = np.where(command, 0.3 * heard, 0.3 + 0.7 * heard)
    shares = np.array([share(c.kind, c.voice) for c in fits])
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
        np.append(shares * (1 - noise_alone), noise_alone),
        np.append(window, WINDOWS[3]),
    )


def with_word(target: Sequence[int], place: int, phones: Sequence[int]) -> tuple[int, ...]:
    """A sentence's phones with one of its words changed."""
    ends = [at for at, phone in enumerate(target) if phone == BOUNDARY]
    starts = [0, *(end + 1 for end in ends)]
    return (*target[: starts[place]], *phones, *target[[*ends, len(target)][place] :])


def _best_targets(
    corpus: Corpus,
    clips: Sequence[object],
    found: list[list[tuple[int, ...]]],
    teacher: Weights,
    batch: int = 256,
) -> tuple[list[tuple[int, ...]], NDArray[np.float64]]:
    """For each clip the target that the teacher hears best, and its loss per phone."""
    device = teacher["mel_fb"].device
    order = sorted(range(len(found)), key=lambda i: clips[i].samples)  # type: ignore[attr-defined]
    best: list[tuple[int, ...]] = [()] * len(found)
    fit = np.zeros(len(found))
    for first in range(0, len(order), batch):
        rows = order[first : first + batch]
        window = max(WINDOWS[2], max(clips[i].samples for i in rows) + 3200)  # type: ignore[attr-defined]
        wave = torch.zeros((len(rows), window))
        for place, i in enumerate(rows):
            sound = corpus.sound(clips[i])  # type: ignore[arg-type]
            wave[place, 1600 : 1600 + len(sound)] = torch.from_numpy(sound.astype(np.float32) / 32768)
        wave = wave + 2e-4 * torch.randn(wave.shape)
        with torch.no_grad():
            heard = output(teacher, wave.to(device), half=False)
        places = [place for place, i in enumerate(rows) for _ in found[i]]
        wanted = [t for i in rows for t in found[i]]
        target = torch.zeros((len(wanted), max(len(t) for t in wanted)), dtype=torch.long)
        for row, phones in enumerate(wanted):
            target[row, : len(phones)] = torch.tensor(phones)
        length = torch.tensor([len(t) for t in wanted])
        loss = ctc(heard[places], target.to(device), length).cpu().numpy() / length.numpy()
        loss = np.where(loss == 0, 9.0, loss)  # zero stands for "can't be aligned"
        at = 0
        for i in rows:
            n = len(found[i])
            choice = int(np.argmin(loss[at : at + n]))
            best[i], fit[i] = found[i][choice], loss[at + choice]
            at += n
    return best, fit


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
        teacher: Weights,
        plan: Plan,
        seed: int,
        cards: Cards = Cards(),
    ) -> None:
        self.plan, self.cards, self.teacher = plan, cards, teacher
        self._seed = seed + 1000 * cards.number
        self._draw = torch.Generator().manual_seed(self._seed)
        self._weights = weights(start, str(teacher["mel_fb"].device))
        self._warped = warped_banks(self._weights) if plan.warp else None
        self._trained = {name: tensor for name, tensor in self._weights.items() if name not in SPECTRUM}
        flat = [t for t in self._trained.values() if t.dim() > 1]
        rest = [t for t in self._trained.values() if t.dim() <= 1]
        groups = [{"params": flat, "weight_decay": plan.decay}, {"params": rest, "weight_decay": 0.0}]
        fused = teacher["mel_fb"].is_cuda
        self._optimiser = torch.optim.AdamW(groups, plan.rate, (0.9, 0.98), fused=fused)
        self.average = {name: tensor.detach().clone() for name, tensor in self._trained.items()}
        self.step = 0
        torch.manual_seed(self._seed)

    def use(self, training_set: TrainingSet, recipe: Recipe = Recipe()) -> None:  # noqa: B008 - immutable
        """Train with this set from now on."""
        self._training_set = training_set
        self._lengths = training_set.target_length.cpu()
        self._rival_lengths = training_set.rival_length.cpu()
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
                wanted = output(self.teacher, clean, plan.half)
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
            report(student.step, (seen / every).tolist(), {**student.teacher, **student.average})
            seen.zero_()
    return {name: tensor.float().cpu().numpy() for name, tensor in student.average.items()}

# mypy: disable-error-code="import-not-found"
"""Fine-tunes the phoneme network for speech next to a motor.

Loss: CTC on the phones of what is said, plus the divergence from a teacher's output on the same clip without
noise (distillation, after Hinton et al. 2015, "Distilling the knowledge in a neural network", from memory).
The teachers are earlier networks, the packaged one first; of each clip that one teaches which hears it better
as it is spelled. A clip that all of them mishear, or write otherwise, has the CTC loss alone. Where a word is
said that is misheard for another, or lost, the sentence with the other in its place is to be less likely by a
margin (after boosted MMI, Povey et al. 2008, from memory). Talk is trained like commands, so that the network
stays a general recogniser and goes on rejecting; where no teacher hears the spelling, both losses weigh less,
most of all where people may have said something else than their prompt.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import torch
from numpy.typing import NDArray
from torch.nn import functional

from tests.bench.finetune.network import SPECTRUM, Weights, ctc, output, warped_banks, weights
from tests.bench.finetune.sound.augment import Kitchen, Recipe
from tests.bench.finetune.training_set import RIVALS, TrainingSet


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

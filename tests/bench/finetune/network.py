# mypy: disable-error-code="import-not-found"
"""The phoneme network in PyTorch: a small conformer, rebuilt from the weight file of hama 1.7.0.

Log-mel 80 (window 400, hop 160, reflected edges, power, floor 1e-10, natural log), a convolution 80 -> 144 of
stride 2 with GELU, four blocks (half feed-forward 576 with SiLU, 4-head attention without positions,
convolution with GLU and a depthwise kernel of 31, half feed-forward, layer norm), projection to 191,
log-softmax. One frame each 20 ms. Weights stay in a dict under the names of the file, so that they go back
where they came from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import torch
from numpy.typing import NDArray
from torch.nn import functional

from tests.bench.finetune.archive import BLANK

if TYPE_CHECKING:
    from tests.bench.finetune.sound.augment import Kitchen

Weights = dict[str, torch.Tensor]

HEADS = 4
WIDTH = 144
FRAME = 320
"""Samples per frame of the output."""
SPECTRUM = ("mel_fb", "stft_real_kernel", "stft_imag_kernel")
"""Fixed by the front end; never trained."""
_MATRICES = (
    (829, 830, 831, 835, 836, 837),
    (838, 839, 840, 844, 845, 846),
    (847, 848, 849, 853, 854, 855),
    (856, 857, 858, 862, 863, 864),
)
_DEPTHWISE = ((804, 805), (807, 808), (810, 811), (813, 814))


def weights(tensors: dict[str, NDArray[np.float32]], device: str = "cpu") -> Weights:
    """Tensors of a weight file on a device; all but the spectrum's can be trained."""
    return {
        name: torch.tensor(value, device=device, requires_grad=name not in SPECTRUM)
        for name, value in tensors.items()
    }


def log_mel(w: Weights, wave: torch.Tensor, banks: torch.Tensor | None = None) -> torch.Tensor:
    """(batch, samples) -> (batch, 80, frames of 10 ms); `banks` (batch, 201, 80): filters of each sound."""
    padded = functional.pad(wave[:, None], (200, 200), mode="reflect")
    real = functional.conv1d(padded, w["stft_real_kernel"], stride=160)
    imaginary = functional.conv1d(padded, w["stft_imag_kernel"], stride=160)
    power = real.square() + imaginary.square()
    if banks is None:
        return torch.einsum("bft,fm->bmt", power, w["mel_fb"]).clamp_min(1e-10).log()
    return torch.einsum("bft,bfm->bmt", power, banks).clamp_min(1e-10).log()


def warped_banks(
    w: Weights, shortest: float = 0.87, longest: float = 1.15, n: int = 12, bend: float = 0.09
) -> torch.Tensor:
    """(about n * n / 2, 201, 80): the filters as for vocal tracts of other lengths and shapes.

    After Jaitly and Hinton 2013 (from memory); from low to high frequencies the factor changes by up to
    `bend`.
    """
    bank = w["mel_fb"]
    size = len(bank)
    made = []
    factors = torch.linspace(shortest, longest, n).tolist()
    # Half of the change is below 1.1 kHz.
    high = torch.arange(size, device=bank.device) * 8000 / (size - 1)
    high = high / (high + 1500) * (9500 / 8000)
    for low_end, high_end in ((a, b) for a in factors for b in factors if abs(a - b) < bend):
        at = torch.arange(size, device=bank.device) * (low_end + (high_end - low_end) * high)
        low = at.floor().long()
        part = (at - low)[:, None]
        inside = (low < size - 1)[:, None]
        low = low.clamp(max=size - 2)
        made.append(torch.where(inside, bank[low] * (1 - part) + bank[low + 1] * part, 0.0))
    return torch.stack(made)


def _norm(w: Weights, name: str, x: torch.Tensor) -> torch.Tensor:
    return functional.layer_norm(x, (WIDTH,), w[f"{name}.weight"], w[f"{name}.bias"])


def _feed_forward(
    w: Weights, name: str, first: str, second: str, x: torch.Tensor, drop: float
) -> torch.Tensor:
    inner = functional.silu(_norm(w, f"{name}.norm", x) @ w[first] + w[f"{name}.fc1.bias"])
    return functional.dropout(inner, drop) @ w[second] + w[f"{name}.fc2.bias"]


def _attention(w: Weights, name: str, into: str, out: str, x: torch.Tensor) -> torch.Tensor:
    batch, time, _ = x.shape
    joined = _norm(w, f"{name}.attn_norm", x) @ w[into] + w[f"{name}.attn.in_proj_bias"]
    q, k, v = joined.reshape(batch, time, 3, HEADS, WIDTH // HEADS).permute(2, 0, 3, 1, 4)
    mixed = functional.scaled_dot_product_attention(q, k, v).transpose(1, 2).reshape(batch, time, WIDTH)
    return mixed @ w[out] + w[f"{name}.attn.out_proj.bias"]


def _convolution(w: Weights, name: str, depth: tuple[int, int], x: torch.Tensor) -> torch.Tensor:
    y = _norm(w, f"{name}.norm", x)
    y = functional.glu(y @ w[f"{name}.pointwise1.weight"][:, :, 0].T + w[f"{name}.pointwise1.bias"], -1)
    kernel, bias = (w[f"onnx::Conv_{number}"] for number in depth)
    y = functional.silu(
        functional.conv1d(y.transpose(1, 2), kernel, bias, padding=15, groups=WIDTH)
    ).transpose(1, 2)
    return y @ w[f"{name}.pointwise2.weight"][:, :, 0].T + w[f"{name}.pointwise2.bias"]


def encode(w: Weights, mel: torch.Tensor, drop: float = 0.0) -> torch.Tensor:
    """Log-mel (batch, 80, t) -> logits (batch, frames, 191); `drop`: dropout in training."""
    x = functional.gelu(
        functional.conv1d(mel, w["onnx::Conv_801"], w["onnx::Conv_802"], stride=2, padding=1)
    ).transpose(1, 2)
    for number, (matrices, depth) in enumerate(zip(_MATRICES, _DEPTHWISE, strict=True)):
        name = f"acoustic_model.model.blocks.{number}"
        m = [f"onnx::MatMul_{value}" for value in matrices]
        x = x + 0.5 * functional.dropout(_feed_forward(w, f"{name}.ffn1", m[0], m[1], x, drop), drop)
        x = x + functional.dropout(_attention(w, name, m[2], m[3], x), drop)
        x = x + functional.dropout(_convolution(w, f"{name}.conv", depth, x), drop)
        x = x + 0.5 * functional.dropout(_feed_forward(w, f"{name}.ffn2", m[4], m[5], x, drop), drop)
        x = _norm(w, f"{name}.norm", x)
    return x @ w["acoustic_model.model.proj.weight"][:, :, 0].T + w["acoustic_model.model.proj.bias"]


def log_probabilities(w: Weights, wave: torch.Tensor) -> torch.Tensor:
    """(batch, samples) at 16 kHz, -1..1 -> (batch, frames, 191)."""
    return functional.log_softmax(encode(w, log_mel(w, wave)), -1)


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

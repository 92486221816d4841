"""The phoneme network in matrix products: what the library's runtime computes, at a tenth of its time.

A small conformer (Gulati et al. 2020, "Conformer: Convolution-augmented Transformer for Speech Recognition",
arXiv 2005.08100) without positions: log-mel spectrum (80 bands, window 400, step 160, reflected edges), a
convolution of stride 2 with GELU, four blocks (half feed-forward, attention of four heads, convolution with
GLU, half feed-forward, layer norm), a projection, log-softmax; a frame each 320 samples. The library does the
same and is the reference: `tests/asr/test_conformer.py` holds the two together.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.float32]

HEADS = 4
WINDOW, STEP = 400, 160
EDGE = WINDOW // 2
FLOOR = np.float32(1e-10)
_EPSILON = np.float32(1e-5)
_HALF = np.float32(0.5)
_LEAST = np.float32(-80)
"""The exponential of more than its negative overflows."""
_FIRST, _BLOCKS = 829, 4
"""Names of the blocks' matrices are numbered: nine apart, from this one on."""
_MATRICES = (0, 1, 2, 6, 7, 8)
_DEPTHWISE = 804
_BEHIND = "acoustic_model.model."


@dataclass(frozen=True, slots=True)
class _Affine:
    """Rows times a matrix, and a bias."""

    matrix: Matrix
    bias: Matrix

    def __call__(self, rows: Matrix) -> Matrix:
        made = rows @ self.matrix
        made += self.bias
        return made


@dataclass(frozen=True, slots=True)
class _FeedForward:
    inner: _Affine
    outer: _Affine
    norm: _Affine

    def __call__(self, x: Matrix) -> Matrix:
        return self.outer(_silu(self.inner(_normed(x, self.norm))))


@dataclass(frozen=True, slots=True)
class _Block:
    first: _FeedForward
    attention_norm: _Affine
    into: _Affine
    out: _Affine
    convolution_norm: _Affine
    gated: _Affine
    taps: Matrix
    """Depthwise kernel, shape (taps, width)."""
    taps_bias: Matrix
    mixed: _Affine
    last: _FeedForward
    norm: _Affine

    def __call__(self, x: Matrix) -> Matrix:
        x = x + _HALF * self.first(x)
        x += self._attention(x)
        x += self._convolution(x)
        x += _HALF * self.last(x)
        return _normed(x, self.norm)

    def _attention(self, x: Matrix) -> Matrix:
        time, width = x.shape
        joined = self.into(_normed(x, self.attention_norm)).reshape(time, 3, HEADS, width // HEADS)
        query, key, value = joined.transpose(1, 2, 0, 3)
        weight: Matrix = query @ key.transpose(0, 2, 1)
        weight *= np.float32((width // HEADS) ** -0.5)
        weight -= weight.max(axis=-1, keepdims=True)
        np.exp(weight, out=weight)
        weight /= weight.sum(axis=-1, keepdims=True)
        mixed: Matrix = (weight @ value).transpose(1, 0, 2).reshape(time, width)
        return self.out(mixed)

    def _convolution(self, x: Matrix) -> Matrix:
        both = self.gated(_normed(x, self.convolution_norm))
        width = both.shape[1] // 2
        gated = both[:, :width] * _sigmoid(both[:, width:])
        reach = len(self.taps) // 2
        padded = np.zeros((len(x) + 2 * reach, width), np.float32)
        padded[reach : reach + len(x)] = gated
        found: Matrix = np.tile(self.taps_bias, (len(x), 1))
        for place, tap in enumerate(self.taps):
            found += padded[place : place + len(x)] * tap
        return self.mixed(_silu(found))


class Conformer:
    """The network of one weight file.

    `tensors`: its tensors by name, float32. Raises KeyError where one is missing, ValueError where one has
    another shape than the architecture wants.
    """

    def __init__(self, tensors: Mapping[str, Matrix]) -> None:
        t = tensors
        parts = [t["stft_real_kernel"][:, 0], t["stft_imag_kernel"][:, 0]]
        self._spectrum = np.ascontiguousarray(np.concatenate(parts).T)
        self._bands = t["mel_fb"]
        kernel = t["onnx::Conv_801"]
        # Rows of three frames after one another, so that the convolution is one product.
        self._subsample = _Affine(
            np.ascontiguousarray(kernel.transpose(2, 1, 0).reshape(-1, len(kernel))), t["onnx::Conv_802"]
        )
        self._blocks = tuple(_block(t, number) for number in range(_BLOCKS))
        self._project = _pointwise(t, f"{_BEHIND}proj")
        if self._spectrum.shape != (WINDOW, 2 * len(self._bands)) or kernel.shape[2] != 3:
            raise ValueError("tensors of another architecture")

    def log_mel(self, waveform: Matrix) -> Matrix:
        """Samples, -1 to 1, at least `EDGE` + 1 of them -> natural log of the bands, shape (steps, bands)."""
        padded = np.pad(waveform, EDGE, mode="reflect")
        windows = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::STEP]
        both = np.square(windows @ self._spectrum)
        half = both.shape[1] // 2
        power = both[:, :half] + both[:, half:]
        return np.asarray(np.log(np.maximum(power @ self._bands, FLOOR)), np.float32)

    def log_probs(self, waveform: Matrix) -> Matrix:
        """Samples, -1 to 1 -> natural log-probabilities, shape (frames, symbols)."""
        if len(waveform) <= EDGE:
            waveform = np.pad(waveform, (0, EDGE + 1 - len(waveform)))
        return self.from_log_mel(self.log_mel(waveform))

    def from_log_mel(self, mel: Matrix) -> Matrix:
        """The same from the log-mel spectrum, shape (steps, bands)."""
        padded = np.pad(mel, ((1, 1), (0, 0)))
        steps = (len(mel) - 1) // 2 + 1
        rows = np.concatenate([padded[k : k + 2 * steps - 1 : 2] for k in range(3)], axis=1)
        x = _gelu(self._subsample(rows))
        for block in self._blocks:
            x = block(x)
        logits = self._project(x)
        logits -= logits.max(axis=1, keepdims=True)
        logits -= np.log(np.exp(logits).sum(axis=1, keepdims=True))
        return logits


def _block(t: Mapping[str, Matrix], number: int) -> _Block:
    name = f"{_BEHIND}blocks.{number}"
    m = [t[f"onnx::MatMul_{_FIRST + 9 * number + k}"] for k in _MATRICES]
    taps = t[f"onnx::Conv_{_DEPTHWISE + 3 * number}"]
    return _Block(
        first=_feed_forward(t, f"{name}.ffn1", m[0], m[1]),
        attention_norm=_norm(t, f"{name}.attn_norm"),
        into=_Affine(m[2], t[f"{name}.attn.in_proj_bias"]),
        out=_Affine(m[3], t[f"{name}.attn.out_proj.bias"]),
        convolution_norm=_norm(t, f"{name}.conv.norm"),
        gated=_pointwise(t, f"{name}.conv.pointwise1"),
        taps=np.ascontiguousarray(taps[:, 0].T),
        taps_bias=t[f"onnx::Conv_{_DEPTHWISE + 3 * number + 1}"],
        mixed=_pointwise(t, f"{name}.conv.pointwise2"),
        last=_feed_forward(t, f"{name}.ffn2", m[4], m[5]),
        norm=_norm(t, f"{name}.norm"),
    )


def _feed_forward(t: Mapping[str, Matrix], name: str, first: Matrix, second: Matrix) -> _FeedForward:
    return _FeedForward(
        _Affine(first, t[f"{name}.fc1.bias"]),
        _Affine(second, t[f"{name}.fc2.bias"]),
        _norm(t, f"{name}.norm"),
    )


def _norm(t: Mapping[str, Matrix], name: str) -> _Affine:
    return _Affine(t[f"{name}.weight"], t[f"{name}.bias"])


def _pointwise(t: Mapping[str, Matrix], name: str) -> _Affine:
    return _Affine(np.ascontiguousarray(t[f"{name}.weight"][:, :, 0].T), t[f"{name}.bias"])


def _normed(x: Matrix, by: _Affine) -> Matrix:
    """Layer norm: each row with mean 0 and variance 1, then scaled and moved."""
    apart: Matrix = x - x.mean(axis=1, keepdims=True)
    apart /= np.sqrt(np.square(apart).mean(axis=1, keepdims=True) + _EPSILON)
    apart *= by.matrix
    apart += by.bias
    return apart


def _sigmoid(x: Matrix) -> Matrix:
    made: Matrix = np.exp(-np.maximum(x, _LEAST))
    made += np.float32(1)
    return np.reciprocal(made, out=made)


def _silu(x: Matrix) -> Matrix:
    return x * _sigmoid(x)


_ERF = (0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429)
"""Abramowitz and Stegun, "Handbook of Mathematical Functions", 7.1.26: error below 1.5e-7."""


def _gelu(x: Matrix) -> Matrix:
    """Each x times the chance that a standard normal variable is below it."""
    size = np.abs(x) * np.float32(0.5**0.5)
    part = 1 / (1 + np.float32(0.3275911) * size)
    sum_ = np.zeros_like(part)
    for factor in reversed(_ERF):
        sum_ = (sum_ + np.float32(factor)) * part
    erf = 1 - sum_ * np.exp(-np.square(size))
    made: Matrix = x * _HALF * (1 + np.copysign(erf, x))
    return made

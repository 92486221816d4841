# mypy: disable-error-code="import-not-found"
"""Builders of a network's layers for `graph_ops`: products, convolutions, norms, LSTM, spectrum, resizing."""

from __future__ import annotations

import math
from typing import Any

import torch
from torch.nn import functional

from tests.bench.finetune.graph.graph_node import Node, Run


def softmax(node: Node) -> Run:
    axis = node.take("axis", -1)
    return lambda x: torch.softmax(x, axis)


def leaky(node: Node) -> Run:
    alpha = node.take("alpha", 0.01)
    return lambda x: functional.leaky_relu(x, alpha)


def gelu(_node: Node) -> Run:
    return lambda x, *bias: functional.gelu(x + bias[0] if bias else x, approximate="tanh")


def layer_norm(node: Node) -> Run:
    node.expect(axis=-1, stash_type=1)
    epsilon = node.take("epsilon", 1e-5)
    return lambda x, *by: functional.layer_norm(x, x.shape[-1:], *by, eps=epsilon)


def skip_layer_norm(node: Node) -> Run:
    epsilon = node.take("epsilon", 1e-12)
    if len(node.inputs) != 4 or len(node.outputs) != 1:
        raise node.error("only input, skip, gamma and beta are known")
    return lambda x, skip, gamma, beta: functional.layer_norm(x + skip, x.shape[-1:], gamma, beta, epsilon)


def fused_matmul(node: Node) -> Run:
    node.expect(transBatchA=0, transBatchB=0)
    alpha, left, right = node.take("alpha", 1.0), node.take("transA", 0), node.take("transB", 0)

    def run(a: Any, b: Any) -> Any:
        found = torch.matmul(a.mT if left else a, b.mT if right else b)
        return found if alpha == 1 else found * alpha

    return run


def integer_matmul(node: Node) -> Run:
    if node.product is None:
        raise node.error("it has not been made ready")
    weight, bias = node.product
    return lambda x: functional.linear(x, weight, bias)


def _sides(node: Node, rank: int) -> tuple[list[int], list[int]]:
    """Pads before and after each of `rank` axes."""
    node.expect(auto_pad="NOTSET")
    pads = list(node.take("pads", [0] * 2 * rank))
    return pads[:rank], pads[rank:]


def conv(node: Node) -> Run:
    rank = node.constant(1).dim() - 2
    before, after = _sides(node, rank)
    strides, dilations = node.take("strides", [1] * rank), node.take("dilations", [1] * rank)
    node.expect(kernel_shape=list(node.constant(1).shape[2:]))
    group = node.take("group", 1)
    apply = getattr(torch, f"conv{rank}d")
    # uneven pads go before the product
    extra = [n for b, a in zip(before[::-1], after[::-1], strict=True) for n in (b, a)]
    even = before == after
    within = before if even else 0

    def run(x: Any, weight: Any, bias: Any = None) -> Any:
        x = x if even else functional.pad(x, extra)
        return apply(x, weight, bias, strides, within, dilations, group)

    if node.op == "Conv":
        return run
    if node.product is None:
        raise node.error("it has not been made ready")
    weight, bias = node.product
    return lambda x: run(x, weight, bias)


def conv_transpose(node: Node) -> Run:
    rank = node.constant(1).dim() - 2
    before, after = _sides(node, rank)
    if before != after:
        raise node.error("only even pads are known")
    strides, dilations = node.take("strides", [1] * rank), node.take("dilations", [1] * rank)
    more, group = node.take("output_padding", [0] * rank), node.take("group", 1)
    node.expect(kernel_shape=list(node.constant(1).shape[2:]))
    apply = getattr(torch, f"conv_transpose{rank}d")
    return lambda x, weight, bias=None: apply(x, weight, bias, strides, before, more, group, dilations)


def dequantise(node: Node) -> Run:
    axis = node.take("axis", 1)
    scale = node.constant(1).to(node.device)
    zero = (node.constant(2).float() if node.has(2) else torch.zeros(1)).to(node.device)

    def along(x: Any, value: Any) -> Any:
        return value.reshape([-1 if i == axis % x.dim() else 1 for i in range(x.dim())])

    if scale.numel() == 1:
        scale, zero = scale.reshape(()), zero.reshape(())
        return lambda x: (x.float() - zero) * scale
    return lambda x: (x.float() - along(x, zero)) * along(x, scale)


def lstm(node: Node) -> Run:
    """Weights (directions, input, 4 hidden), order i o f c; PyTorch has (4 hidden, input), order i f c o."""
    hidden = node.take("hidden_size", None)
    both = node.take("direction", "forward")
    if both not in ("forward", "bidirectional") or node.has(4) or node.has(7):
        raise node.error(f"direction {both}, lengths or peepholes are not known")
    node.expect(input_forget=0)
    n = 2 if both == "bidirectional" else 1

    def weight(i: int, scale: int) -> torch.Tensor:
        raw, by, zero = node.constant(i).float(), node.constant(scale), node.constant(scale + 1).float()
        return (raw - zero.reshape(n, 1, -1)) * by.reshape(n, 1, -1)

    def order(value: torch.Tensor) -> torch.Tensor:
        i, o, f, c = value.chunk(4)
        return torch.cat([i, f, c, o]).contiguous()

    inward, across = weight(1, 8), weight(2, 10)
    biases = node.constant(3) if node.has(3) else torch.zeros(n, 8 * hidden)
    net = torch.nn.LSTM(inward.shape[1], hidden, bidirectional=n == 2)
    for way, end in enumerate(("", "_reverse")[:n]):
        first, second = biases[way].chunk(2)
        values = (inward[way].T, across[way].T, first, second)
        for kind, value in zip(("weight_ih", "weight_hh", "bias_ih", "bias_hh"), values, strict=True):
            getattr(net, f"{kind}_l0{end}").data = order(value)
    net = net.to(node.device).eval().requires_grad_(False)
    net.flatten_parameters()

    def run(x: Any, *state: Any) -> Any:
        y, (h, c) = net(x, state or None)
        return y.reshape(len(x), -1, n, hidden).transpose(1, 2), h, c

    if len(state := [i for i in (5, 6) if node.has(i)]) == 1:
        raise node.error(f"only one of two first states is there, input {state[0]}")
    return run if len(node.outputs) > 1 else lambda *x: run(*x)[0]


def stft(node: Node) -> Run:
    """(batch, samples) -> (batch, frames, bins, 2), as a product with the windowed waves of the transform."""
    node.expect(onesided=1)
    step = int(node.constant(1))
    window = node.constant(2).double()
    size = len(window)
    if node.has(3) and int(node.constant(3)) != size:
        raise node.error("only a window of the frame's length is known")
    angle = torch.outer(torch.arange(size), torch.arange(size // 2 + 1)).double() * (-2 * math.pi / size)
    waves = torch.stack([angle.cos(), angle.sin()], -1)
    # Without a sine part (bin 0 and the last of an even size) the angle of a negative value is +pi where
    # atan2 is there, but -pi in exported graphs, which ask for "imaginary > 0": a trace below float32's
    # rounding makes it +pi here too.
    for i in (0, size // 2)[: 2 - size % 2]:
        waves[:, i, 1] = -1e-7 * waves[:, i, 0]
    basis = (waves * window[:, None, None]).reshape(size, -1).to(node.device)

    def run(x: Any) -> Any:
        # in double: no setting for faster products of float32 may touch the angles of weak bins
        frames = x.reshape(x.shape[0], x.shape[1]).double().unfold(1, size, step)
        return (frames @ basis).reshape(*frames.shape[:2], -1, 2).float()

    return run


def resize(node: Node) -> Run:
    """Nearest by whole factors with coordinates from the left edge, or linear (last axis), half pixels."""
    node.expect(antialias=0, exclude_outside=0, keep_aspect_ratio_policy="stretch")
    node.take("extrapolation_value", 0.0)  # for cropping only
    node.take("cubic_coeff_a", -0.75)  # for cubic only
    how = (node.take("mode", "nearest"), node.take("coordinate_transformation_mode", "half_pixel"))
    nearest = node.take("nearest_mode", "round_prefer_floor")
    *still, scale = node.constant(2).tolist()
    if node.has(1) or node.has(3) or set(still) != {1.0} or len(still) != 2:
        raise node.error("only scales for the last of three axes are known")
    if how == ("nearest", "asymmetric") and nearest == "floor" and scale == int(scale):
        return lambda x: x.unsqueeze(-1).expand(*x.shape, int(scale)).reshape(*x.shape[:2], -1)
    if how == ("linear", "half_pixel"):
        return lambda x: functional.interpolate(x, scale_factor=scale, mode="linear", align_corners=False)
    raise node.error(f"{how} with {nearest} is not known")

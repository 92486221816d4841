# mypy: disable-error-code="import-not-found"
"""The operators that `graph` runs, each as a builder: a node's attributes and constants -> a function.

Meaning after the ONNX operator specification (opset 20) and the contributed operators of onnxruntime
(com.microsoft).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import torch
from torch.nn import functional

from tests.bench.finetune.graph import graph_layers as layers
from tests.bench.finetune.graph.graph_node import Builder, Node, Run

_TYPES = {
    1: torch.float32, 2: torch.uint8, 3: torch.int8, 6: torch.int32, 7: torch.int64, 9: torch.bool,
    11: torch.float64,
}  # fmt: skip


def _plain(run: Run) -> Builder:
    return lambda _node: run


def _divide(_node: Node) -> Run:
    def run(a: Any, b: Any) -> Any:
        if a.is_floating_point() or b.is_floating_point():
            return a / b
        return torch.div(a, b, rounding_mode="trunc")

    return run


def _power(node: Node) -> Run:
    exponent = node.constants.get(node.inputs[1])
    if exponent is not None and exponent.numel() == 1 and not exponent.dim() and exponent.item() == 2:
        return lambda x, _two: x * x
    return torch.pow  # type: ignore[no-any-return]


def _arctangent(_node: Node) -> Run:
    # exporters write an angle as atan(y / x): where both are nothing it is 0, as atan2 has it, and not NaN
    return lambda x: torch.atan(x).nan_to_num(0.0, math.inf, -math.inf)


def _cast(node: Node) -> Run:
    node.take("saturate", 1)  # for 8-bit floats only, which are no types here
    to = node.take("to", None)
    if to not in _TYPES:
        raise node.error(f"type {to} is not known")
    return lambda x: x.to(_TYPES[to])


def _shape(node: Node) -> Run:
    start, end = node.take("start", 0), node.take("end", None)
    return lambda x: torch.tensor(x.shape[start:end], dtype=torch.int64)


def _gather(node: Node) -> Run:
    axis = node.take("axis", 0)
    index = node.constants.get(node.inputs[1])
    if index is not None and not index.dim():
        at = int(index)
        return lambda x, _index: x.select(axis, at)
    whole = index is not None and bool((index >= 0).all())

    def run(x: Any, index: Any) -> Any:
        at = axis % x.dim()
        if not whole:
            index = torch.where(index < 0, index + x.shape[at], index)
        return x.index_select(at, index.reshape(-1)).reshape(*x.shape[:at], *index.shape, *x.shape[at + 1 :])

    return run


def _reshape(node: Node) -> Run:
    node.expect(allowzero=0)
    return lambda x, shape: x.reshape([d if d else x.shape[i] for i, d in enumerate(shape)])


def _unsqueeze(_node: Node) -> Run:
    def run(x: Any, axes: list[int]) -> Any:
        rank = x.dim() + len(axes)
        for axis in sorted(axis % rank for axis in axes):
            x = x.unsqueeze(axis)
        return x

    return run


def _slice(node: Node) -> Run:
    if node.has(4) and min(node.constant(4).tolist()) < 1:
        raise node.error("only steps forward are known")

    def run(
        x: Any,
        starts: list[int],
        ends: list[int],
        axes: list[int] | None = None,
        steps: list[int] | None = None,
    ) -> Any:
        cut = [slice(None)] * x.dim()
        for i, start in enumerate(starts):
            cut[axes[i] if axes else i] = slice(start, ends[i], steps[i] if steps else 1)
        return x[tuple(cut)]

    return run


def _split(node: Node) -> Run:
    axis = node.take("axis", 0)
    return lambda x, sizes: x.split(sizes, axis)


def _concat(node: Node) -> Run:
    axis = node.take("axis", 0)
    return lambda *x: torch.cat(x, axis)


def _transpose(node: Node) -> Run:
    order = node.take("perm", None)
    return lambda x: x.permute(order if order else tuple(range(x.dim()))[::-1])


def _fill(node: Node) -> Run:
    value, device = node.take("value", torch.zeros(1)), node.device
    return lambda shape: torch.full(shape, value.item(), dtype=value.dtype, device=device)


def _range(node: Node) -> Run:
    device = node.device  # a function that held the node would hold all initialisers
    return lambda start, end, step: torch.arange(start, end, step, device=device)


def _expand(_node: Node) -> Run:
    return lambda x, shape: x.expand(torch.broadcast_shapes(x.shape, tuple(shape)))


def _pad(node: Node) -> Run:
    mode = node.take("mode", "constant")
    if mode not in ("constant", "reflect"):
        raise node.error(f"mode {mode} is not known")

    def run(x: Any, pads: list[int], value: float = 0.0) -> Any:
        rank = len(pads) // 2
        both = [n for i in reversed(range(rank)) for n in (pads[i], pads[rank + i])]
        while len(both) > 2 and not any(both[-2:]):  # reflected pads must not name dimensions that stay
            both = both[:-2]
        return functional.pad(x, both, mode, value if mode == "constant" else None)

    return run


def _reduce(how: str) -> Builder:
    def build(node: Node) -> Run:
        node.expect(noop_with_empty_axes=0)
        keep = bool(node.take("keepdims", 1))
        reduce = getattr(torch, how)

        def run(x: Any, axes: list[int] | None = None) -> Any:
            return reduce(x, axes or list(range(x.dim())), keepdim=keep)

        return run

    return build


def _cumulate(node: Node) -> Run:
    node.expect(exclusive=0, reverse=0)
    return torch.cumsum  # type: ignore[no-any-return]


def _clip(node: Node) -> Run:
    low, high = node.has(1), node.has(2)
    if high and not low:
        return lambda x, most: x.clamp(max=most)
    return lambda x, *ends: x.clamp(*ends)


def _scatter(node: Node) -> Run:
    node.expect(reduction="none")
    return lambda x, index, new: x.index_put(tuple(index.unbind(-1)), new)


def _squeeze(_node: Node) -> Run:
    return lambda x, axes=None: x.squeeze() if axes is None else x.squeeze(tuple(axes))


_NONE = range(0)
_ONE, _TWO, _THREE, _ANY = range(1), range(2), range(3), range(64)
_REST = range(1, 64)

OPERATORS: dict[str, tuple[Builder, Sequence[int], Sequence[int]]] = {
    **{
        name: (_plain(getattr(torch, name.lower())), _ONE, _NONE)
        for name in ("Sqrt", "Sin", "Cos", "Exp", "Tanh", "Sigmoid", "Floor", "Round")
    },
    **{
        name: (_plain(run), _TWO, _NONE)
        for name, run in {
            "Add": torch.add, "Sub": torch.sub, "Mul": torch.mul, "MatMul": torch.matmul, "Equal": torch.eq,
            "Greater": torch.gt, "GreaterOrEqual": torch.ge, "Less": torch.lt, "And": torch.logical_and,
        }.items()
    },
    "Div": (_divide, _TWO, _NONE),
    "Pow": (_power, _TWO, _NONE),
    "Atan": (_arctangent, _ONE, _NONE),
    "Cast": (_cast, _ONE, _NONE),
    "Where": (_plain(torch.where), _THREE, _NONE),
    "NonZero": (_plain(lambda x: torch.nonzero(x).T), _ONE, _NONE),
    "Shape": (_shape, _ONE, _NONE),
    "Gather": (_gather, _TWO, _NONE),
    "Reshape": (_reshape, _ONE, _REST),
    "Unsqueeze": (_unsqueeze, _ONE, _REST),
    "Squeeze": (_squeeze, _ONE, _REST),
    "Slice": (_slice, _ONE, _REST),
    "Split": (_split, _ONE, _REST),
    "Expand": (_expand, _ONE, _REST),
    "Pad": (_pad, _ONE, _REST),
    "ConstantOfShape": (_fill, _NONE, _ONE),
    "Range": (_range, _NONE, _THREE),
    "Concat": (_concat, _ANY, _NONE),
    "Transpose": (_transpose, _ONE, _NONE),
    "ReduceMean": (_reduce("mean"), _ONE, _REST),
    "ReduceSum": (_reduce("sum"), _ONE, _REST),
    "CumSum": (_cumulate, _ONE, _REST),
    "Clip": (_clip, _ONE, _REST),
    "Softmax": (layers.softmax, _ONE, _NONE),
    "LeakyRelu": (layers.leaky, _ONE, _NONE),
    "FastGelu": (layers.gelu, _TWO, _NONE),
    "LayerNormalization": (layers.layer_norm, _THREE, _NONE),
    "SkipLayerNormalization": (layers.skip_layer_norm, _ANY, _NONE),
    "FusedMatMul": (layers.fused_matmul, _TWO, _NONE),
    "MatMulInteger": (layers.integer_matmul, _ONE, _NONE),
    "ConvInteger": (layers.conv, _ONE, _NONE),
    "Conv": (layers.conv, _THREE, _NONE),
    "ConvTranspose": (layers.conv_transpose, _THREE, _NONE),
    "DequantizeLinear": (layers.dequantise, _ONE, _NONE),
    "DynamicQuantizeLinear": (_plain(torch.nn.Identity()), _ONE, _NONE),  # taken out when the graph is read
    "DynamicQuantizeLSTM": (layers.lstm, (0, 5, 6), _NONE),
    "STFT": (layers.stft, _ONE, _NONE),
    "Resize": (layers.resize, _ONE, _NONE),
    "ScatterND": (_scatter, _THREE, _NONE),
}  # fmt: skip

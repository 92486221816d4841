# mypy: disable-error-code="import-not-found"
"""An ONNX graph run by PyTorch on any device, its quantised parts in floating point.

Each node becomes a Python closure once, at load. What hangs on initialisers only is computed there, and the
integer products (MatMulInteger, ConvInteger) take up the scale and the bias that follow them, so that one
floating-point product stays of each group. DynamicQuantizeLinear hands its input through with scale 1 and
zero point 0; no activation is rounded. Shapes and what is computed from them stay on the host: the device is
waited for only where a length hangs on data. Operators: ONNX opset 20 and the contributed ones of
onnxruntime, as far as `graph_ops` has them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray

from tests.bench.finetune.graph.graph_node import GraphError, Node, Run
from tests.bench.finetune.graph.graph_ops import OPERATORS

_Step = tuple[Run, tuple[int, ...], int | tuple[int, ...], tuple[int, ...]]
_PRODUCTS = ("MatMulInteger", "ConvInteger")


@dataclass(slots=True)
class _Product:
    """An integer product as a floating one: (x * weight) * scale + bias, both over the output channels."""

    node: Node
    shape: tuple[int, ...]
    """Of the weight."""
    scale: torch.Tensor
    bias: torch.Tensor | None = None

    def along(self, value: torch.Tensor) -> torch.Tensor | None:
        """A constant as (channels,) or (1,), or None where it is not a value for each output channel."""
        matrix = self.node.op == "MatMulInteger"
        channels = self.shape[-1 if matrix else 0]
        if value.numel() == 1:
            return value.reshape(1) if value.dim() <= len(self.shape) else None
        right = (channels,) if matrix else (channels, *(1,) * (len(self.shape) - 2))
        shape = tuple(value.shape)
        while shape[:1] == (1,) and len(shape) > len(right):
            shape = shape[1:]
        rank = value.dim() <= len(self.shape)
        return value.reshape(-1) if rank and shape == right else None

    def take(self, op: str, value: torch.Tensor) -> bool:
        """Take up a following Add or Mul by a constant; False where that cannot be."""
        one = self.along(value)
        if one is None:
            return False
        if op == "Mul":
            self.scale = self.scale * one
            self.bias = None if self.bias is None else self.bias * one
        else:
            self.bias = one if self.bias is None else self.bias + one
        return True


class Graph:
    """The graph of a file, ready on a device ("cpu", "cuda:0"); only what its first output needs is kept.

    GraphError (a CrumbcallError) names an operator or an attribute that is not known.
    """

    def __init__(self, model: Path, device: str) -> None:
        self._device = torch.device(device)
        if self._device.type == "cuda":
            # Some operators take the current card, whatever their tensors are on.
            torch.cuda.set_device(self._device)
        self._constants: dict[str, torch.Tensor] = {}
        self._same: dict[str, str] = {}
        """Names that mean another value."""
        self._unrounded: set[str] = set()
        """Constants from the scale of an activation: what was rounded to whole steps of it stays as it is."""
        self._products: dict[str, _Product] = {}
        with torch.no_grad():
            nodes, self._inputs, self._output = self._read(model)
            self._compile(self._needed(self._fold(nodes)))
        del self._constants, self._same, self._products, self._unrounded

    def __call__(self, feeds: Mapping[str, NDArray[Any]]) -> NDArray[Any]:
        """The first output for the graph's inputs, name -> array."""
        with torch.inference_mode():
            values = self._start.copy()
            for name, at in self._feeds:
                values[at] = torch.from_numpy(np.ascontiguousarray(feeds[name])).to(self._device)
            for run, sources, target, dead in self._steps:
                found = run(*[values[i] for i in sources])
                if type(target) is int:
                    values[target] = found
                else:
                    for i, one in zip(target, found, strict=False):  # type: ignore[arg-type]
                        values[i] = one
                for i in dead:
                    values[i] = None
            result: NDArray[Any] = values[self._last].cpu().numpy()
            return result

    def _read(self, model: Path) -> tuple[list[Node], list[str], str]:
        """Nodes in the order of running, names of the inputs, name of the first output."""
        import onnx
        from onnx import numpy_helper

        graph = onnx.load(str(model)).graph
        for tensor in graph.initializer:
            self._constants[tensor.name] = torch.from_numpy(numpy_helper.to_array(tensor).copy())
        nodes = []
        for node in graph.node:
            if node.op_type not in OPERATORS:
                raise GraphError(f"{model.name}: operator {node.op_type} of node {node.name!r} is not known.")
            attributes = {a.name: onnx.helper.get_attribute_value(a) for a in node.attribute}
            for name, value in attributes.items():
                if isinstance(value, bytes):
                    attributes[name] = value.decode()
                elif isinstance(value, onnx.TensorProto):
                    attributes[name] = torch.from_numpy(numpy_helper.to_array(value).copy())
            how = OPERATORS[node.op_type]
            names = list(node.input), list(node.output)
            nodes.append(Node(node.op_type, node.name, names[0], names[1], attributes, self._constants, how))
        feeds = [one.name for one in graph.input if one.name not in self._constants]
        return nodes, feeds, graph.output[0].name

    def _fold(self, nodes: list[Node]) -> list[Node]:
        """Compute what is constant, take the quantisation out, join products with what follows them."""
        uses = Counter(name for node in nodes for name in node.inputs)
        uses[self._output] += 1
        kept = []
        for node in nodes:
            node.inputs = [self._same.get(name, name) for name in node.inputs]
            constant = [name in self._constants for name in node.inputs if name]
            if node.op == "DynamicQuantizeLinear":
                quantised, scale, zero = node.outputs
                self._same[quantised] = node.inputs[0]
                uses[node.inputs[0]] += uses[quantised] - 1
                self._constants[scale] = torch.tensor(1.0)
                self._constants[zero] = torch.tensor(0)
                self._unrounded.add(scale)
            elif constant and all(constant):
                self._compute(node)
            elif not self._join(node, uses):
                kept.append(node)
        self._output = self._same.get(self._output, self._output)
        return kept

    def _compute(self, node: Node) -> None:
        unrounded = any(name in self._unrounded for name in node.inputs)
        if unrounded:
            self._unrounded.update(node.outputs)
            if node.op == "Floor" or (node.op == "Cast" and node.attributes["to"] == 6):
                self._constants[node.outputs[0]] = self._constants[node.inputs[0]]
                return
        run, data, params = node.build(torch.device("cpu"))
        found = run(*[self._constants[name] for name in (*data, *params)])
        for name, one in zip(
            node.outputs, found if isinstance(found, tuple | list) else [found], strict=False
        ):
            self._constants[name] = one

    def _join(self, node: Node, uses: Counter[str]) -> bool:
        """True where a node goes into the product before it."""
        if node.op in _PRODUCTS:
            node.check_zeros()
            self._products[node.outputs[0]] = _Product(node, tuple(node.constant(1).shape), torch.ones(1))
            return False
        if node.op not in ("Add", "Mul", "Cast"):
            return False
        before = next((name for name in node.inputs if name in self._products), None)
        if before is None:
            return False
        if node.op == "Cast":
            fits = bool(node.attributes["to"] == 1)
        else:
            other = [name for name in node.inputs if name != before]
            value = self._constants.get(other[0]) if other else None
            fits = False
            if uses[before] == 1 and value is not None:
                fits = self._products[before].take(node.op, value)
        if fits:
            self._same[node.outputs[0]] = before
            uses[before] += uses[node.outputs[0]] - 1
        return fits

    def _needed(self, nodes: list[Node]) -> list[Node]:
        wanted = {self._output}
        kept = []
        for node in reversed(nodes):
            if wanted.intersection(node.outputs):
                kept.append(node)
                wanted.update(node.inputs)
        return kept[::-1]

    def _compile(self, nodes: list[Node]) -> None:
        """Steps with places in one list of values; copies between host and device where a node needs them."""
        host: set[str] = set()
        places: dict[tuple[str, bool], int] = {}
        self._start: list[Any] = []
        self._steps: list[_Step] = []
        steps: list[tuple[Run, tuple[int, ...], int | tuple[int, ...]]] = []
        shared: dict[tuple[Any, ...], torch.Tensor] = {}

        def place(name: str, on_host: bool, value: torch.Tensor | None = None) -> int:
            places[name, on_host] = len(self._start)
            self._start.append(value)
            return len(self._start) - 1

        def where(name: str, on_host: bool) -> int:
            """Place of a value on one side; copied there where it is not."""
            if (name, on_host) in places:
                return places[name, on_host]
            if name in self._constants:
                value = self._constants[name]
                # a single number stays on the host: kernels take it as an argument
                return place(name, on_host, value if on_host or not value.dim() else value.to(self._device))
            if (name, not on_host) not in places:
                raise GraphError(f"Value {name!r} is used before it is made.")
            target = torch.device("cpu") if on_host else self._device
            source = places[name, not on_host]
            steps.append((lambda x: x.to(target, non_blocking=not on_host), (source,), place(name, on_host)))
            return places[name, on_host]

        self._feeds = [(name, place(name, False)) for name in self._inputs]
        for node in nodes:
            changing = [name for name in node.inputs if name and name not in self._constants]
            on_host = node.op == "Shape" or (all(name in host for name in changing) and not node.fills())
            product = self._products.get(node.outputs[0])
            if product is not None:
                node.product = self._ready(product, shared)
            run, data, params = node.build(torch.device("cpu") if on_host else self._device)
            sources = tuple(
                places[name, name in host] if node.op == "Shape" else where(name, on_host) for name in data
            )
            sources += tuple(where(name, True) for name in params)
            if on_host:
                host.update(node.outputs)
            targets = tuple(place(name, on_host) for name in node.outputs)
            steps.append((run, sources, targets[0] if len(targets) == 1 else targets))
        self._last = where(self._output, self._output in host)
        self._free(steps)

    def _ready(
        self, product: _Product, shared: dict[tuple[Any, ...], torch.Tensor]
    ) -> tuple[torch.Tensor, torch.Tensor | None]:
        """Weight with its scale and bias on the device; equal weights (shared layers) are kept once."""
        node, scale = product.node, product.scale
        matrix = node.op == "MatMulInteger"
        key = (node.op, *node.inputs[1::2], scale.numpy().tobytes())
        if key not in shared:
            by = scale if matrix else scale.reshape(-1, *(1,) * (len(product.shape) - 1))
            weight = node.weight() * by
            shared[key] = (weight.T if matrix else weight).contiguous().to(self._device)
        channels = shared[key].shape[0]
        bias = product.bias
        return shared[key], None if bias is None else bias.expand(channels).contiguous().to(self._device)

    def _free(self, steps: list[tuple[Run, tuple[int, ...], int | tuple[int, ...]]]) -> None:
        """Say after which step a value is dropped."""
        held = {i for i, value in enumerate(self._start) if value is not None} | {self._last}
        self._steps = []
        for run, sources, target in reversed(steps):
            targets = (target,) if isinstance(target, int) else target
            dead = tuple(dict.fromkeys(i for i in (*sources, *targets) if i not in held))
            held.update(dead)
            self._steps.append((run, sources, target, dead))
        self._steps.reverse()

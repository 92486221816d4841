# mypy: disable-error-code="import-not-found"
"""A node of an ONNX graph on its way to a function of tensors."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import torch

from assistant.errors import CrumbcallError

Run = Callable[..., Any]
Builder = Callable[["Node"], Run]


class GraphError(CrumbcallError):
    """A graph holds what cannot be run."""


@dataclass(slots=True)
class Node:
    """One node.

    `build` returns (function, names of tensors, names of what it takes as numbers from the host).
    """

    op: str
    name: str
    inputs: list[str]
    outputs: list[str]
    attributes: dict[str, Any]
    constants: dict[str, torch.Tensor]
    how: tuple[Builder, Sequence[int], Sequence[int]]
    """Its builder, which inputs are tensors, which are numbers."""
    device: torch.device | None = None
    product: tuple[torch.Tensor, torch.Tensor | None] | None = None
    read: set[int] = field(default_factory=set)
    """Inputs that the builder has looked at itself."""

    def error(self, what: str) -> GraphError:
        """The line for something that is not known."""
        return GraphError(f"Node {self.name!r} ({self.op}): {what}.")

    def take(self, name: str, default: Any) -> Any:
        """An attribute, which counts as understood then."""
        return self.attributes.pop(name, default)

    def expect(self, **values: Any) -> None:
        """Attributes that may only have one value."""
        for name, value in values.items():
            found = self.take(name, value)
            if found != value:
                raise self.error(f"{name} is {found!r}, only {value!r} is known")

    def has(self, i: int) -> bool:
        """Whether there is an input at a place."""
        self.read.add(i)
        return i < len(self.inputs) and bool(self.inputs[i])

    def constant(self, i: int) -> torch.Tensor:
        """An input that must be constant, on the host."""
        self.read.add(i)
        if self.inputs[i] not in self.constants:
            raise self.error(f"input {i} is not constant")
        return self.constants[self.inputs[i]]

    def check_zeros(self) -> None:
        """Check an integer product: its input is quantised dynamically, its weight's zero is constant."""
        if self.has(2) and self.constant(2).any():
            raise self.error("only inputs from DynamicQuantizeLinear are known")
        if self.has(3):
            self.constant(3)

    def weight(self) -> torch.Tensor:
        """Weight of an integer product less its zero point (one, or one per output channel), float32."""
        weight = self.constant(1).float()
        if not self.has(3):
            return weight
        zero = self.constant(3).float()
        if zero.numel() > 1 and self.op == "ConvInteger":
            zero = zero.reshape(-1, *(1,) * (weight.dim() - 1))
        return weight - zero

    def fills(self) -> bool:
        """Whether the node makes floats of a size from nothing: they belong on the device."""
        value = self.attributes.get("value")
        return self.op == "ConstantOfShape" and (value is None or value.is_floating_point())

    def build(self, device: torch.device) -> tuple[Run, list[str], list[str]]:
        """The node as a function; what is constant among its numbers is bound already."""
        self.device = device
        builder, tensors, numbers = self.how
        run = builder(self)
        if self.attributes:
            raise self.error(f"attributes {sorted(self.attributes)} are not known")
        data = [name for i, name in enumerate(self.inputs) if name and i in tensors]
        params = [name for i, name in enumerate(self.inputs) if name and i in numbers]
        unread = [
            i for i, name in enumerate(self.inputs) if name and i not in (*tensors, *numbers, *self.read)
        ]
        if unread:
            raise self.error(f"inputs {unread} are not known")
        if not params:
            return run, data, []
        if all(name in self.constants for name in params):
            bound = [self.constants[name].tolist() for name in params]
            return (lambda *x: run(*x, *bound)), data, []
        count = len(data)
        return (lambda *x: run(*x[:count], *[p.tolist() for p in x[count:]])), data, params

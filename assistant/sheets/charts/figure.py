"""A figure: a Vega-Lite spec without colours, the words around it, and the same figures as a table. Pure.

Rules of all figures: what differs in colour differs in shape, place or words too; nothing has to be hovered
over; axes that do not begin at nought say so by their labels and carry no bars from nought.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
"""Names the version of the language; nothing is fetched from there."""
WIDTH, HEIGHT = 720, 320
"""Size of a figure on paper (pixels of 1/96 inch); a page may make it narrower."""

Spec = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Table:
    """The figures of a chart in rows."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()
    """Columns that are set to the right."""


@dataclass(frozen=True, slots=True)
class Figure:
    """What is drawn, what it is called, how it is read, and its table."""

    name: str
    """Short name, for the file and the element of the page."""
    title: str
    reads: tuple[str, ...]
    """How it is read: a line for each kind of mark."""
    spec: Spec
    table: Table
    decimal_mark: str = "."
    """What the language writes before the decimals of an axis."""

    @property
    def empty(self) -> bool:
        """Whether there is nothing to draw yet."""
        return not self.table.rows


def view(layers: Sequence[Spec], *, height: int = HEIGHT) -> Spec:
    """A spec of these layers over each other; `height`: of all but title and key (pixels)."""
    return {
        "$schema": SCHEMA,
        "width": WIDTH,
        "height": height,
        "padding": 8,
        "autosize": {"type": "fit", "contains": "padding"},
        "layer": list(layers),
    }


def layer(values: Sequence[Mapping[str, Any]], mark: Mapping[str, Any], **encoding: Any) -> Spec:
    """One layer with its own data; `encoding`: what each channel shows."""
    return {"data": {"values": [dict(one) for one in values]}, "mark": dict(mark), "encoding": encoding}


def number(field: str, title: str | None, domain: tuple[float, float] | None = None, **more: Any) -> Spec:
    """A channel of numbers; `domain`: the ends of its axis."""
    scale = {"domain": list(domain), "nice": False, "zero": False} if domain else {"zero": True}
    return {"field": field, "type": "quantitative", "title": title, "scale": scale, **more}


def name(field: str, title: str | None, **more: Any) -> Spec:
    """A channel of names, in the order in which they come."""
    return {"field": field, "type": "nominal", "title": title, "sort": None, **more}


LABEL = {"type": "text", "style": "label"}
"""Mark of a label."""

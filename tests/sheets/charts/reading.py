"""What a figure's spec says, read as a reader of the drawing would."""

from typing import Any

from assistant.sheets.charts.figure import Figure


def values(figure: Figure, style: str) -> list[dict[str, Any]]:
    """The data of all marks of a style."""
    return [
        value
        for layer in figure.spec["layer"]
        if layer["mark"]["style"] == style
        for value in layer["data"]["values"]
    ]


def texts(figure: Figure) -> list[str]:
    """All labels in the plot."""
    layers = [layer for layer in figure.spec["layer"] if layer["mark"]["type"] == "text"]
    return [
        value[layer["encoding"]["text"]["field"]] for layer in layers for value in layer["data"]["values"]
    ]

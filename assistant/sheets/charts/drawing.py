"""A figure as a file: SVG or PNG, drawn by vl-convert, which carries all it needs and fetches nothing."""

import json
from pathlib import Path

from assistant.errors import SettingsError
from assistant.sheets.charts.figure import Figure, Spec
from assistant.sheets.charts.theme import for_file

SUFFIXES = (".svg", ".png")
"""Kinds of file that there are."""
PNG_SCALE = 2.0
"""Pixels of a PNG for each of the figure: sharp in print."""
INSTALL = "pip install 'crumbcall[charts]'"
_NO_ADDRESS: list[str] = []
"""Addresses that a figure may fetch from."""


def svg_of(figure: Figure) -> str:
    """SVG text. Raises SettingsError where the library is not installed."""
    try:
        import vl_convert
    except ImportError:
        raise SettingsError(f"figures are drawn by vl-convert, which is not here: {INSTALL}.") from None
    drawn: str = vl_convert.vegalite_to_svg(_text(for_file(figure)), allowed_base_urls=_NO_ADDRESS)
    return drawn if drawn.endswith("\n") else f"{drawn}\n"


def png_of(figure: Figure) -> bytes:
    """PNG, `PNG_SCALE` pixels for each of the figure. Raises SettingsError as above."""
    try:
        import vl_convert
    except ImportError:
        raise SettingsError(f"figures are drawn by vl-convert, which is not here: {INSTALL}.") from None
    drawn: bytes = vl_convert.vegalite_to_png(
        _text(for_file(figure)), scale=PNG_SCALE, allowed_base_urls=_NO_ADDRESS
    )
    return drawn


def write_figure(figure: Figure, file: Path) -> None:
    """Write an SVG or a PNG, as the file's name ends. Raises SettingsError (one line)."""
    if file.suffix.lower() not in SUFFIXES:
        found = file.suffix or "no ending"
        raise SettingsError(f"{file}: {found} found, .svg or .png is allowed; name the figure so.")
    if figure.empty:
        raise SettingsError(f"{figure.title}: nothing to draw yet; make a batch first.")
    data = png_of(figure) if file.suffix.lower() == ".png" else svg_of(figure).encode()
    try:
        file.write_bytes(data)
    except OSError as error:
        raise SettingsError(f"{file} can't be written ({error.strerror}); choose another place.") from error


def _text(spec: Spec) -> str:
    return json.dumps(spec, allow_nan=False)

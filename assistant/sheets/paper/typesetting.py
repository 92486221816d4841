"""HTML to PDF, and PDF to dots and pictures.

WeasyPrint sets the pages, PDFium draws them; both are of the extra `paper`, and are imported here when used.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np

from assistant.errors import PaperError
from assistant.ports import Dots
from assistant.sheets.paper.paper_style import FONT, STYLE, paper_style

INSTALL = "it needs the extra paper: .venv/bin/pip install 'crumbcall[paper]'"
BLACK_BELOW = 128
"""A dot is black from half grey on."""
_BASE = "https://paper.invalid/"
"""Where pages seem to be; nothing is there (RFC 2606)."""
_FONT_FILES = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
_FONT_FOLDERS = (Path("/usr/share/fonts/truetype/dejavu"), Path("/usr/share/fonts/dejavu"))


@dataclass(frozen=True, slots=True)
class Printout:
    """Pages, ready to be printed or kept: `ports.Pages`."""

    title: str
    pdf: bytes
    media: str = "A4"
    is_cut_label: bool = False

    def dots(self, per_mm: float) -> list[Dots]:
        """Each page as dots, so many a mm."""
        return dots_of(self.pdf, per_mm)


def picture_of(dots: Dots, per_mm: float) -> bytes:
    """A page as a PNG of black and white, with its resolution."""
    try:
        from PIL import Image
    except ImportError as error:
        raise PaperError(f"no picture: {INSTALL} ({error.name} is missing).") from None
    found = BytesIO()
    dpi = per_mm * 25.4
    Image.fromarray(~dots).convert("1").save(found, "PNG", dpi=(dpi, dpi))
    return found.getvalue()


class Setting:
    """A page of HTML, set. Raises PaperError where a part that it needs is missing."""

    def __init__(self, html: str, more_style: str = "") -> None:
        try:
            from weasyprint import HTML
        except (ImportError, OSError) as error:  # OSError: a library of the system is missing
            raise PaperError(f"no paper: {INSTALL}, and libpango ({error}).") from None
        _need_font()
        page = HTML(string=html, base_url=_BASE, url_fetcher=_only(f"{paper_style()}\n{more_style}"))
        self._document = page.render()

    @property
    def pages(self) -> int:
        """How many it takes."""
        return len(self._document.pages)

    def pdf(self) -> bytes:
        """Its PDF."""
        return bytes(self._document.write_pdf())


def _only(style: str) -> Any:
    """Gives a page the style sheet that it links, and nothing else: no file, no network."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class StyleOnly(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: object = None) -> Any:  # noqa: ARG002
            if url != f"{_BASE}{STYLE}":
                raise ValueError("nothing is fetched for a page")
            return URLFetcherResponse(url, style.encode(), {"Content-Type": "text/css"})

    return StyleOnly()


def _need_font() -> None:
    if not any(all((folder / name).is_file() for name in _FONT_FILES) for folder in _FONT_FOLDERS):
        raise PaperError(f"no paper: the font {FONT} is missing; apt-get install fonts-dejavu-core.")


def dots_of(pdf: bytes, per_mm: float) -> list[Dots]:
    """Each page as dots, so many a mm."""
    try:
        import pypdfium2
    except ImportError:
        raise PaperError(f"no picture: {INSTALL}.") from None
    document = pypdfium2.PdfDocument(pdf)
    try:
        pictures = [page.render(scale=per_mm * 25.4 / 72.0, grayscale=True).to_numpy() for page in document]
        return [np.asarray(one.reshape(one.shape[:2]) < BLACK_BELOW) for one in pictures]
    finally:
        document.close()


def joined(pdfs: Sequence[bytes]) -> bytes:
    """Pages of several documents in one."""
    if len(pdfs) == 1:
        return pdfs[0]
    import pypdfium2

    joined = pypdfium2.PdfDocument.new()
    for one in pdfs:
        part = pypdfium2.PdfDocument(one)
        joined.import_pages(part)
        part.close()
    found = BytesIO()
    joined.save(found)
    joined.close()
    return found.getvalue()

"""Sheets and labels for the server of pages, by a process of its own: setting takes much memory for a while.

`python -m assistant.app.paper.page_apart JOB` writes one page of a home as HTML, or what is wrong.
"""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import msgspec

from assistant.app.paper.documents import Documents
from assistant.app.paper.served import ServedPaper
from assistant.config.home import Home
from assistant.errors import CrumbcallError, PaperError

_MODULE = "assistant.app.paper.page_apart"
LIMIT_S = 60.0
"""How long a page may take on a slow machine (s)."""
_REFUSED = 2
"""Exit status of a page that can't be made: what it wrote is the line that says why."""


class PageJob(msgspec.Struct, frozen=True):
    """Which page, out of which home."""

    config: str
    data: str
    what: Literal["sheet", "labels", "day"]
    style: str
    """Address of the style sheet."""
    batch: int | None = None
    day: str = ""
    """Of a day's sheet, as 2026-03-02."""


@dataclass(frozen=True, slots=True)
class PaperApart:
    """Makes the pages of a home. Each raises PaperError, one line, where there is none."""

    home: Home
    style_at: str
    """Address at which the style sheet is served."""
    limit_s: float = LIMIT_S

    def sheet(self, number: int) -> str:
        """The sheet of a batch, as it is printed."""
        return self._page("sheet", batch=number)

    def labels(self, number: int) -> str:
        """The labels of a batch, as they are printed."""
        return self._page("labels", batch=number)

    def day(self, day: str) -> str:
        """The sheet of a day, as 2026-03-02."""
        return self._page("day", day=day)

    def _page(self, what: Literal["sheet", "labels", "day"], batch: int | None = None, day: str = "") -> str:
        job = PageJob(str(self.home.config), str(self.home.data), what, self.style_at, batch, day)
        command = [sys.executable, "-m", _MODULE, msgspec.json.encode(job).decode()]
        try:
            done = subprocess.run(
                command, capture_output=True, timeout=self.limit_s, check=False, stdin=subprocess.DEVNULL
            )
        except subprocess.TimeoutExpired:
            raise PaperError(f"the page took longer than {self.limit_s:g} s; try it again.") from None
        except OSError as error:
            raise PaperError(f"the page can't be made ({error.strerror}); try it again.") from None
        text = done.stdout.decode()
        if done.returncode == _REFUSED and text:
            raise PaperError(text)
        if done.returncode:
            raise PaperError("the page ended by itself; try it again.")
        return text


def made(job: PageJob) -> str:
    """A page, here and now. Raises CrumbcallError."""
    paper = ServedPaper(Documents.of(Home(Path(job.config), Path(job.data))), job.style)
    if job.what == "day":
        return paper.day(job.day)
    return paper.sheet(job.batch) if job.what == "sheet" else paper.labels(job.batch)


if __name__ == "__main__":
    os.nice(10)  # whoever speaks meanwhile is heard first
    try:
        sys.stdout.write(made(msgspec.json.decode(sys.argv[1], type=PageJob)))
    except CrumbcallError as error:
        sys.stdout.write(str(error))
        sys.exit(_REFUSED)

"""One browser for all tests of a process, and pages that fail a test by an error of their own."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.wall_stand import WallStand, wall_stand

CHROMIUM = shutil.which("chromium")
NewPage = Callable[..., Page]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium without a window."""
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed (apt-get install chromium, or hardware/setup.sh --dev)")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def new_page(browser: Browser) -> Iterator[NewPage]:
    """Opens pages; each error of a script, and each refusal by the content policy, fails the test."""
    wrong: list[str] = []
    opened: list[Page] = []

    def open_page(
        address: str, *, size: tuple[int, int] = (800, 480), scheme: str = "light", still: bool = False
    ) -> Page:
        page = browser.new_page(
            viewport={"width": size[0], "height": size[1]},
            color_scheme="dark" if scheme == "dark" else "light",
            reduced_motion="reduce",
        )
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "console",
            lambda said: wrong.append(said.text) if "Content Security Policy" in said.text else None,
        )
        opened.append(page)
        if still:  # its own time stands: what it shows is what it was told
            page.add_init_script("const opened = performance.now(); performance.now = () => opened;")
        page.goto(address)
        page.locator("#number:not(:empty)").wait_for(state="attached")
        return page

    yield open_page
    for page in opened:
        page.close()
    assert wrong == []


@pytest.fixture
def wall(tmp_path: Path) -> Iterator[WallStand]:
    """A page that only shows."""
    with wall_stand(tmp_path) as stand:
        yield stand


@pytest.fixture
def touched(tmp_path: Path) -> Iterator[WallStand]:
    """A page with buttons."""
    with wall_stand(tmp_path, touch=True) as stand:
        yield stand

"""One browser for all tests of a process, and pages that fail a test by an error of their own."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

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


@pytest.fixture(scope="session")
def screen(browser: Browser) -> Iterator[BrowserContext]:
    """What pages are opened in: one for all is quicker than one for each. The page keeps nothing in it."""
    opened = browser.new_context(reduced_motion="reduce")
    yield opened
    assert opened.cookies() == []
    opened.close()


def nothing_comes(page: Page) -> None:
    """As if three seconds had gone by without a word of the station; `test_killed.py` waits for them."""
    page.evaluate("() => { heardAt -= 3000; }")


def barriers(page: Page) -> list[tuple[str, list[str]]]:
    """What axe-core finds in light and in dark, by rule; light and dark differ in colours alone."""
    axe, found = Axe(), []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        only = {} if scheme == "light" else {"runOnly": {"type": "tag", "values": ["cat.color"]}}
        violations = axe.run(page, options=only).response["violations"]
        found += [(f"{one['id']}, {scheme}", [node["html"] for node in one["nodes"]]) for one in violations]
    return found


@pytest.fixture
def new_page(screen: BrowserContext) -> Iterator[NewPage]:
    """Opens pages; each error of a script, and each refusal by the content policy, fails the test."""
    wrong: list[str] = []
    opened: list[Page] = []

    def open_page(address: str, *, size: tuple[int, int] = (800, 480), still: bool = False) -> Page:
        page = screen.new_page()
        page.set_viewport_size({"width": size[0], "height": size[1]})
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

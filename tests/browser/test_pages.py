"""The pages behind the page on the wall, in a browser: drawn under the content policy, accessible, printable.

Accessibility by axe-core, the rules of WCAG 2.2 A and AA among them; it finds what a machine can find.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, ViewportSize

from assistant.journal.heard_counts import FOLDER, QUARTER_S, Quarter, write_day
from tests.board.pages.served import A_BATCH, TRAP, kitchen
from tests.browser.conftest import barriers

FIGURES = {"/today": 0, "/batches": 0, "/batches/1": 1, "/lots": 1, "/lots/12": 1, "/year": 3, "/hearing": 2,
           "/card": 0, "/settings": 0}  # fmt: skip
"""Every page with how many figures it draws."""

PHONE: ViewportSize = {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Pages of a kitchen with three batches, as `crumbcall board` serves them."""
    home = tmp_path_factory.mktemp("home")
    with kitchen(home) as made:
        made.play(A_BATCH)
        made.play(A_BATCH)
        made.play(["new batch fifteen hundred", "water four fifty", "+5s"])
        made.call_the_lot(TRAP)
        start = made.clock.wall() // QUARTER_S * QUARTER_S
        write_day(
            home / FOLDER,
            [Quarter(start + QUARTER_S * n, True, -40.0 + n, {"acted": (0, 1, n, 3, 0)}) for n in range(4)],
        )
        with made.served(tmp_path_factory.mktemp("scripts")) as found:
            yield found


def shown(page: Page, url: str) -> list[str]:
    """Open a page and wait until its figures are drawn; what the browser complained of."""
    complaints: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            complaints.append(message.text)

    page.on("console", note)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(url)
    if page.locator("[data-spec]").count():
        page.wait_for_selector("html[data-drawn]", state="attached")
    return complaints


@pytest.mark.parametrize("path", FIGURES)
def test_a_page_is_drawn_and_accessible_in_light_and_dark(browser: Browser, address: str, path: str) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    assert shown(page, f"{address}{path}") == []
    assert page.locator(".chart svg").count() == FIGURES[path]
    assert page.locator(".chart svg g.mark-text text").count() >= FIGURES[path]
    assert barriers(page) == []
    page.set_viewport_size(PHONE)
    # A wide table scrolls within itself, the page does not.
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.close()


def test_a_figure_is_drawn_for_a_phone(browser: Browser, address: str) -> None:
    page = browser.new_page(viewport=PHONE)
    assert shown(page, f"{address}/lots/12") == []
    assert page.locator(".chart svg").bounding_box()["width"] <= PHONE["width"]  # type: ignore[index]
    page.close()


def test_a_figure_follows_dark_and_paper_without_being_drawn_again(browser: Browser, address: str) -> None:
    page = browser.new_page(color_scheme="light")
    shown(page, f"{address}/lots/12")
    bar = page.locator(".chart svg g.mark-rule.role-mark line").last

    def colour() -> str:
        found = bar.evaluate("one => getComputedStyle(one).stroke")
        assert isinstance(found, str)
        return found

    light = colour()
    page.emulate_media(color_scheme="dark")
    dark = colour()
    page.emulate_media(color_scheme="dark", media="print")
    assert light == "rgb(138, 100, 41)"
    assert dark not in (light, colour())
    page.close()


@pytest.mark.parametrize("path", ["/batches/1", "/year"])
def test_a_page_is_printed(browser: Browser, address: str, path: str, tmp_path: Path) -> None:
    page = browser.new_page(color_scheme="dark")
    shown(page, f"{address}{path}")
    printed = page.pdf(path=tmp_path / "page.pdf", format="A4", margin={"top": "15mm", "left": "15mm"})
    assert printed.startswith(b"%PDF-")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", printed)) <= 3
    page.close()


def test_the_keyboard_reaches_every_link(browser: Browser, address: str) -> None:
    page = browser.new_page()
    shown(page, f"{address}/today")
    links, reached = page.locator("a").count(), set[str]()
    for _ in range(links + 10):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.outerHTML"))
    assert len([one for one in reached if one.startswith("<a ")]) == len(
        {page.locator("a").nth(at).evaluate("one => one.outerHTML") for at in range(links)}
    )
    page.close()


def test_without_the_script_the_table_remains(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/batches/1")
    assert "water 450 g" in page.locator("figure table").inner_text()
    context.close()


def test_the_page_on_the_wall_leads_to_the_pages_on_the_smallest_screen(
    browser: Browser, address: str
) -> None:
    page = browser.new_page(viewport={"width": 800, "height": 480})
    page.goto(f"{address}/")
    link = page.locator("#foot a")
    box = link.bounding_box()
    assert link.inner_text() == "today"
    assert box is not None
    assert box["x"] + box["width"] <= 800
    link.click()
    assert page.locator("h1").inner_text() == "Today"
    page.close()


def test_where_nothing_can_be_drawn_no_empty_frame_stays(browser: Browser, address: str) -> None:
    page = browser.new_page()
    page.route("**/charts/vega.js", lambda route: route.fulfill(status=503, body="vl-convert is not here"))
    page.goto(f"{address}/year")
    page.wait_for_selector("html[data-drawn=no]", state="attached")
    assert page.locator(".chart").count() == 0
    assert "2026-01" in page.locator("figure table").first.inner_text()
    page.close()

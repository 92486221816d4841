"""What can be printed, as the server of pages shows it: the sheet of a batch and of the day, labels."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from assistant.app.paper.page_apart import PaperApart
from assistant.board.board_words import BoardWords
from assistant.board.pages import page_routes
from assistant.board.pages.sources import PAPER_STYLE_AT
from assistant.board.web import board_templates
from assistant.errors import PaperError
from tests.board.pages.served import A_BATCH, Kitchen, kitchen


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    """A kitchen with a batch."""
    with kitchen(tmp_path_factory.mktemp("home")) as found:
        found.play(A_BATCH)
        yield found


@dataclass
class Told:
    """Paper that only says what was asked of it, or why there is none."""

    wrong: str = ""

    def sheet(self, number: int) -> str:
        return self._said(f"sheet {number}")

    def labels(self, number: int) -> str:
        return self._said(f"labels {number}")

    def day(self, day: str) -> str:
        return self._said(f"day {day}")

    def _said(self, text: str) -> str:
        if self.wrong:
            raise PaperError(self.wrong)
        return text


def client(made: Kitchen, scripts: Path, paper: Told) -> TestClient:
    words = BoardWords.of(made.app.home, "en")
    routes = page_routes(board_templates(words), replace(made.sources, paper=paper), scripts)
    return TestClient(Starlette(routes=routes), base_url="http://127.0.0.1")


@pytest.mark.parametrize(
    ("path", "status", "text"),
    [
        ("/paper/sheet/1", 200, "sheet 1"),
        ("/paper/labels/1", 200, "labels 1"),
        ("/paper/day", 200, "day 2026-01-12"),
        ("/paper/sheet/0", 404, "/paper/sheet/0 is not known here; go by the links.\n"),
        ("/paper/labels/x", 404, "/paper/labels/x is not known here; go by the links.\n"),
    ],
)
def test_each_address_has_its_paper(made: Kitchen, tmp_path: Path, path: str, status: int, text: str) -> None:
    answer = client(made, tmp_path, Told()).get(path)
    assert (answer.status_code, answer.text) == (status, text)


def test_what_can_not_be_set_is_one_line(made: Kitchen, tmp_path: Path) -> None:
    answer = client(made, tmp_path, Told("the label does not fit")).get("/paper/labels/1")
    assert (answer.status_code, answer.text) == (503, "the label does not fit\n")


def test_who_comes_second_is_told_so_and_does_not_wait(made: Kitchen, tmp_path: Path) -> None:
    seen = []

    class Slow(Told):
        def sheet(self, number: int) -> str:
            seen.append(browser.get("/paper/labels/1"))
            return super().sheet(number)

    browser = client(made, tmp_path, Slow())
    assert browser.get("/paper/sheet/1").status_code == 200
    assert (seen[0].status_code, seen[0].headers["retry-after"]) == (503, "5")
    assert seen[0].text == "Another page to print is being set; load this one again in a moment.\n"
    assert browser.get("/paper/labels/1").status_code == 200


def test_the_pages_lead_to_paper_and_paper_to_its_style(made: Kitchen, tmp_path: Path) -> None:
    browser = made.browser(tmp_path)
    ways = re.findall(r'href="(/paper/[^"]+)"', browser.get("/batches/1").text + browser.get("/today").text)
    assert ways == ["/paper/sheet/1", "/paper/labels/1", "/paper/day"]
    style = browser.get(PAPER_STYLE_AT)
    assert style.headers["content-type"] == "text/css; charset=utf-8"
    assert ".label .allergen" in style.text


def test_labels_are_made_by_a_process_of_their_own_under_the_policy_of_the_pages(
    made: Kitchen, tmp_path: Path
) -> None:
    answer = made.browser(tmp_path).get("/paper/labels/1")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "text/html; charset=utf-8")
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert f'<link rel="stylesheet" href="{PAPER_STYLE_AT}">' in answer.text
    assert answer.text.count('<section class="label') == 1
    assert "style=" not in answer.text


def test_what_the_process_says_and_how_it_ends_is_one_line(made: Kitchen) -> None:
    home = made.app.home
    with pytest.raises(PaperError, match=r"^.*batch 99.*$"):
        PaperApart(home, PAPER_STYLE_AT).sheet(99)
    with pytest.raises(PaperError, match=r"^the page took longer than 0 s; try it again.$"):
        PaperApart(home, PAPER_STYLE_AT, limit_s=0.0).day("2026-01-12")

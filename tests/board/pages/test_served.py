"""Every page over HTTP: its status, that names are no markup, that bad addresses are one line."""

import html
import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from queue import Queue
from urllib.parse import quote

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from assistant.app.pages.wall_page import At, live_page, page_beside
from assistant.journal.heard_counts import FOLDER, Quarter, write_day
from assistant.station.alive.presence import Presence
from tests.board.pages.served import A_BATCH, TRAP, Kitchen, kitchen

PAGES = (
    "/today", "/batches", "/batches/1", "/batches/2", "/lots", "/lots/12", "/year", "/hearing", "/card",
    "/settings",
)  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    """Two batches: one of lot 12, one of a lot with a name like markup."""
    home = tmp_path_factory.mktemp("home")
    with kitchen(home) as found:
        found.play(A_BATCH)
        (found.app.home.config / "lots.toml").write_text(
            '[12]\nflour = "semolina <b>"\nsupplier = "M & <i>"\nmoisture_pct = 13.8\ndelivered_kg = 25\n',
            encoding="utf-8",
        )
        found.play(["new batch fifteen hundred", "water four fifty", "+5s"])
        found.call_the_lot(TRAP)
        wall = found.clock.wall() // 900 * 900
        write_day(home / FOLDER, [Quarter(wall, False, -40.0, {"acted": (0, 0, 0, 3, 0)})])
        yield found


@pytest.fixture(scope="module")
def browser(made: Kitchen, tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """The pages of this kitchen."""
    return made.browser(tmp_path_factory.mktemp("scripts"))


def shown(page: str) -> str:
    """The text of a page, without tags."""
    body = page[page.index("<main") :]
    return html.unescape(" ".join(re.sub(r"<[^>]*>", " ", body).split()))


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_there_in_its_frame(browser: TestClient, path: str) -> None:
    answer = browser.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.text.count("<h1>") == 1
    assert "None" not in shown(answer.text)


@pytest.mark.parametrize("path", [*PAGES, "/lots/nope", "/batches/99", "/year?year=x"])
def test_a_name_is_no_markup_and_nothing_is_inline(browser: TestClient, path: str) -> None:
    text = browser.get(path).text
    assert TRAP not in text
    assert "<b>" not in text
    assert "<i>" not in text
    assert not re.search(r"<script(?![^>]*\ssrc=)", text), "a script of its own"
    assert not re.search(r"<[^>]+\s(style|on\w+)=", text), "an inline style or handler"


def test_the_lot_with_such_a_name_has_a_page(browser: TestClient) -> None:
    text = browser.get("/batches").text
    (href,) = set(re.findall(r'href="(/lots/%3C[^"]*)"', text))
    assert TRAP in shown(text)
    text = shown(browser.get(href).text)
    # No batch of it is closed, and the kitchen wrote nothing down of it.
    assert text.startswith(f"Lot {TRAP}")
    assert "nothing is known of it: only what others say" in text
    assert "No batch of this lot says where it ends yet." in text


def test_the_batches_of_a_lot_lead_to_their_pages(browser: TestClient) -> None:
    assert '<a href="/batches/1">1</a>' in browser.get("/lots/12").text


def test_today_adds_up(browser: TestClient) -> None:
    text = shown(browser.get("/today").text)
    assert "batches closed 1 dropped 0 flour used 3000 g portions 14 scrap 40 g lots 12" in text
    # Four hours from the first water: US Food Code 3-501.14(B), 4-602.11.
    assert "batch 1, tray 1: cold 11:00" in text
    assert "Your local code decides. (US Food Code 3-501.14(B), 3-501.16, 4-602.11)" in text
    assert "No plan; crumbcall plan makes one." in text


def test_a_batch_has_its_figure_its_lines_and_its_questions(browser: TestClient) -> None:
    text = browser.get("/batches/1").text
    (spec,) = [json.loads(html.unescape(one)) for one in re.findall(r'data-spec="([^"]*)"', text)]
    # 100 x 465 / 1500 = 31: baker's percent.
    found = [value.get("pct") for layer in spec["layer"] for value in layer["data"]["values"]]
    assert found.count(31.0) >= 3
    assert '<script src="/charts/vega.js" defer>' in text
    assert "Nothing was asked." in shown(text)
    assert "crumb ready 31.0 %" in shown(text)


def test_lots_name_supplier_moisture_season_and_what_is_left(browser: TestClient) -> None:
    text = shown(browser.get("/lots").text)
    # The scripted clock begins in January; 25 kg less the 1.5 kg of one batch.
    assert re.search(r"12 semolina <b> M & <i> 13\.8 % Dec-Feb 1 .* 23500 g -", text)


def test_the_year_adds_up(browser: TestClient) -> None:
    text = shown(browser.get("/year").text)
    assert "batches closed 1 dropped 0 flour used 1.5 kg scrap 40 g portions 14" in text
    assert "crumb checks a batch 2.0 called wet at least once 0 of 1 batches judged" in text
    assert "No batch ended in this year." in shown(browser.get("/year?year=1999").text)


def test_hearing_shows_counts_and_that_no_word_is_kept(browser: TestClient) -> None:
    text = shown(browser.get("/hearing").text)
    assert "No sound and no word is kept." in text
    assert "heard 3 acted at once 3, 100 %" in text
    assert "The clock was not set in a part of this day" in text
    assert "Nothing was counted on this day" in shown(browser.get("/hearing?day=2020-02-29").text)


def test_settings_say_which_are_the_kitchens_own(tmp_path: Path) -> None:
    with kitchen(tmp_path, settings="[batch]\ntarget_pct = 31.5\n") as own:
        text = shown(own.browser(tmp_path).get("/settings").text)
    assert "target_pct 31.5 own hydration aimed at" in text
    assert "low_pct 30 default" in text or "low_pct 30.0 default" in text


def test_the_card_has_the_sentences_of_the_grammar(browser: TestClient) -> None:
    text = shown(browser.get("/card").text)
    assert "Switch off and unplug before a hand goes in." in text
    assert "crumb dry" in text


@pytest.mark.parametrize(
    ("path", "status", "line"),
    [
        ("/batches/99", 404, "/batches/99 is not known here; go by the links."),
        ("/batches/0", 404, "/batches/0 is not known here"),
        ("/batches/99999999999999999999", 404, "is not known here"),
        ("/batches/²", 404, "is not known here"),
        ("/lots/%3Cscript%3E", 404, "is not known here"),
        ("/lots/..%2F..%2Fetc%2Fpasswd", 404, "is not known here"),
        ("/year?year=x", 400, "year='x': a whole number from 1970 to 9998 is allowed; mend the address."),
        ("/year?year=9999", 400, "a whole number from 1970 to 9998 is allowed"),
        ("/batches?before=-1", 400, "a whole number from 1 to 999999 is allowed"),
        ("/hearing?day=tomorrow", 400, "day='tomorrow': a day as 2026-03-02 is allowed; mend the address."),
        ("/hearing?day=9999-12-31", 400, "a day as 2026-03-02 is allowed"),
    ],
)
def test_a_bad_address_is_one_line(browser: TestClient, path: str, status: int, line: str) -> None:
    answer = browser.get(path)
    assert answer.status_code == status
    assert line in shown(answer.text)
    assert "Traceback" not in answer.text


def test_only_reading_is_allowed(browser: TestClient) -> None:
    assert {browser.request(how, "/today").status_code for how in ("POST", "PUT", "DELETE")} == {405}


def test_before_the_first_batch(tmp_path: Path) -> None:
    with kitchen(tmp_path) as fresh:
        browser = fresh.browser(tmp_path)
        assert "No batch today yet." in shown(browser.get("/today").text)
        assert "No batch yet; open one with: new batch" in shown(browser.get("/batches").text)
        assert "No closed batch names its lot yet" in shown(browser.get("/lots").text)


def test_without_a_journal_a_page_says_so(tmp_path: Path) -> None:
    with kitchen(tmp_path / "home") as fresh:
        browser = fresh.browser(tmp_path)
        fresh.app.home.journal_file.unlink()
        answer = browser.get("/today")
        assert answer.status_code == 503
        assert "there is no journal yet; crumbcall listen begins one" in shown(answer.text)
        assert browser.get("/settings").status_code == 200


def test_pages_write_nothing_into_the_journal(made: Kitchen, browser: TestClient) -> None:
    def written() -> list[tuple[int]]:
        with closing(sqlite3.connect(made.app.home.journal_file)) as db:
            return db.execute("SELECT count(*) FROM events").fetchall()

    before = written()
    for path in PAGES:
        browser.get(path)
    assert written() == before


def test_the_script_that_draws_is_made_once_and_kept(made: Kitchen, tmp_path: Path) -> None:
    browser = made.browser(tmp_path / "kept")
    (tmp_path / "kept").mkdir()
    answer = browser.get("/charts/vega.js")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    (kept,) = (tmp_path / "kept").iterdir()
    assert kept.name.startswith("vega-")
    kept.write_text("// kept", encoding="utf-8")
    assert browser.get("/charts/vega.js").text == "// kept"


def test_where_the_script_cannot_be_kept_it_is_one_line(made: Kitchen, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    answer = made.browser(blocked).get("/charts/vega.js")
    assert answer.status_code == 503
    assert re.fullmatch(r"[^\n]*can't be (made|read)[^\n]*\n", answer.text)


def test_both_ways_of_serving_have_the_pages(tmp_path: Path) -> None:
    with kitchen(tmp_path) as made:
        presence = Presence(made.app.heartbeat(made.clock), busy=lambda: False)
        live, _ = live_page(made.app, made.clock, made.station, presence, Queue(), At(port=0))
        beside = page_beside(made.app, made.clock, At(port=0))
        for server in (live, beside):
            answer = TestClient(server._app, base_url="http://127.0.0.1").get("/today")
            assert answer.status_code == 200
            assert '<a href="/hearing">hearing</a>' in answer.text
            # Nothing inline: the policy needs no unsafe-inline and no unsafe-eval.
            assert "unsafe" not in answer.headers["content-security-policy"]
            server.close()


def test_what_a_running_station_lacks_is_on_the_page_of_the_day(tmp_path: Path) -> None:
    with kitchen(tmp_path) as made:
        heart = made.app.heartbeat(made.clock)
        presence = Presence(heart, gone=lambda: ["speaker", "cooling"])
        presence.follow(made.station.announce("ready"), None, made.station.state)
        server = page_beside(made.app, made.clock, At(port=0))
        page = TestClient(server._app, base_url="http://127.0.0.1")
        assert "Check these: cooling, speaker" in page.get("/today").text
        heart.close()  # the station ended: what it lacked is of no account
        assert "Check these" not in page.get("/today").text
        server.close()


@given(
    page=st.sampled_from(["/batches/", "/lots/", "/batches?before=", "/year?year=", "/hearing?day=", "/"]),
    text=st.text(max_size=40) | st.integers().map(str) | st.dates().map(str) | st.just("../../etc/passwd"),
)
@settings(max_examples=150)
def test_whatever_is_asked_for_is_answered(browser: TestClient, page: str, text: str) -> None:
    answer = browser.get(page + quote(text, safe=""))
    assert answer.status_code in (200, 400, 404)
    assert "Traceback" not in answer.text
    assert "root:" not in answer.text

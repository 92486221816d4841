"""The page says what the station can't do now: write, hear, tell the time; and that it is a practice."""

from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage, barriers, nothing_comes
from tests.browser.moments import MOMENTS, OPENED
from tests.browser.test_wall import NUMBER_MM, PANEL_MM, SIZES, measured
from tests.browser.wall_stand import WallStand, wall_stand

PARTS = ("power supply", "card")


def fits(stand: WallStand, new_page: NewPage) -> Page:
    """The page at all sizes: nothing is cut, and the number stays as large as it was."""
    page = new_page(stand.address, still=True)
    for size in SIZES:
        found = measured(page, size)
        assert (found["outside"], found["cut"], found["overlaps"], found["page"]) == ([], [], [], False), size
        if size == (800, 480) and not page.locator("#wall.text-head").count():
            assert found["number"] >= NUMBER_MM * size[1] / PANEL_MM[1]
    return page


def test_that_nothing_is_written_is_said_until_it_is(wall: WallStand, new_page: NewPage) -> None:
    wall.say(*OPENED)
    page = new_page(wall.address)
    trouble = page.locator("#trouble")
    expect(trouble).to_be_hidden()
    wall.failing = True  # found by looking: no turn need be taken
    expect(trouble).to_have_text("Nothing is written, it's all in memory: leave it switched on.")
    expect(page.locator("#live")).to_contain_text("Nothing is written")
    wall.failing = False
    expect(trouble).to_be_hidden()


def test_weak_supply_and_locked_card_are_said(wall: WallStand, new_page: NewPage) -> None:
    wall.parts_gone = ("microphone", *PARTS)
    page = new_page(wall.address)
    # The microphone has a place of its own.
    expect(page.locator("#trouble")).to_have_text("Check: card, power supply.")
    wall.parts_gone = ()
    expect(page.locator("#trouble")).to_be_hidden()


def test_what_is_wrong_fits_beside_all_else(tmp_path: Path, new_page: NewPage) -> None:
    for language in ("en", "it"):
        with wall_stand(tmp_path, touch=True, language=language) as wall:
            wall.failing, wall.parts_gone = True, PARTS
            wall.say(*MOMENTS["near the target"].said)
            assert barriers(fits(wall, new_page)) == []


def test_without_a_clock_no_time_of_day_is_claimed(wall: WallStand, new_page: NewPage) -> None:
    wall.clock.trusted = False
    wall.say(*MOMENTS["extruding"].said, "tray done", "full", "+60")
    page = new_page(wall.address, size=(1280, 800))
    # 182 s of mixing and resting and a minute, since the machine was switched on.
    expect(page.locator("#time")).to_have_text("clock not set, on for 4 min")
    clock = page.locator("#clocks li").first
    expect(clock).to_contain_text("tray 1.1cold in 3:5")
    expect(clock).not_to_contain_text("by")
    fits(wall, new_page)
    wall.gone_at = wall.clock.wall()
    wall.feed.changed()
    expect(page.locator("#hearing")).to_have_text("station gone")
    expect(page.locator("#old")).to_have_text("Figures 0 min old")


def test_a_page_that_loses_a_station_without_a_clock_says_no_time(tmp_path: Path, new_page: NewPage) -> None:
    with wall_stand(tmp_path) as wall:
        wall.clock.trusted = False
        page = new_page(wall.address)
        expect(page.locator("#time")).to_contain_text("clock not set")
    nothing_comes(page)
    expect(page.locator("#hearing")).to_have_text("station gone", timeout=5000)
    expect(page.locator("#old")).to_have_text("Figures 0 min old")


def test_a_practice_says_so_and_what_to_say(touched: WallStand, new_page: NewPage) -> None:
    page = new_page(touched.address)
    touched.say("practice")
    expect(page.locator("#title")).to_have_text("Practice")
    expect(page.locator("#practice")).to_have_text("Practice: nothing is poured, nothing is written.")
    expect(page.locator("#number")).to_have_text("Say “lot twelve”")
    touched.say("lot twelve", "new batch one kilo")
    expect(page.locator("#number")).to_have_text("Say “water one fifty”")
    # The bar is that of the practice's own batch.
    expect(page.locator("#account")).to_contain_text("in 1000 g of flour")
    assert touched.stand.station.state.batch is None
    assert page.locator("button").count() == 0
    fits(touched, new_page)
    touched.say("stop practice")
    expect(page.locator("#practice")).to_be_hidden()
    expect(page.locator("#number")).to_have_text("idle")


def test_what_has_to_ring_in_a_practice_is_counted(wall: WallStand, new_page: NewPage) -> None:
    said = ("lot twelve", "new batch one kilo", "water one fifty", "make that one fifteen", "how much left")
    wall.say("practice", *said, "poured the rest", "mix twenty seconds")
    page = new_page(wall.address, still=True)
    expect(page.locator("#number")).to_have_text("0:20")
    expect(page.locator("#practice")).to_be_visible()


def test_a_timer_of_the_kitchen_rings_through_a_practice(touched: WallStand, new_page: NewPage) -> None:
    touched.say("timer two ten seconds", "practice", "+12")
    page = new_page(touched.address)
    expect(page.locator("#number")).to_have_text("timer 2")
    expect(page.locator("#practice")).to_be_visible()
    page.get_by_role("button", name="got it").click()
    assert touched.pressed.wait(5)
    touched.take_presses()
    expect(page.locator("#number")).to_have_text("Say “lot twelve”")


def test_no_word_of_a_button_is_broken_in_a_language_of_long_words(tmp_path: Path, new_page: NewPage) -> None:
    with wall_stand(tmp_path, touch=True, language="it") as wall:
        wall.say(*MOMENTS["mix rings"].said)
        page = new_page(wall.address, still=True)
        for size in SIZES:
            measured(page, size)
            cut = page.evaluate(
                """() => [...document.querySelectorAll("#buttons button")]
                    .filter(one => one.scrollWidth > one.clientWidth + 1).map(one => one.textContent)"""
            )
            assert cut == [], size

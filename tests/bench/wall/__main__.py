"""How quick and how small the page on the wall is: `python -m tests.bench.wall [--out FILE]`.

On the machine that it runs on: from a sentence typed to the picture that shows what it led to (deciding, a
journal in memory and two frames of the browser are in it); the share of a core that 20 viewers cost the
station while it changes every second; and what station and page grow over changes, first as fast as the
page shows them, then one a second in real time.
"""

import argparse
import os
import platform
import resource
import shutil
import statistics
import sys
import time
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event

from playwright.sync_api import Page, sync_playwright

from assistant.clock import RealClock
from tests.bench.hearing.report import table
from tests.bench.wall.viewers import look_on
from tests.browser.wall_stand import WallStand, wall_stand

VIEWERS = 20
OPENED = ("new batch fifteen hundred", "water three thirty", "mix")
WATCH = """() => {
    const spoken = document.getElementById("heard");
    window.painted = 0;
    new MutationObserver(() => requestAnimationFrame(() => requestAnimationFrame(() => {
        window.painted = Date.now() / 1000;
    }))).observe(spoken, { childList: true, characterData: true, subtree: true });
}"""


def to_pixels(wall: WallStand, page: Page, count: int) -> list[float]:
    """Seconds from a sentence to the frame that shows it, as often as asked."""
    clock, found = RealClock(), []
    page.evaluate(WATCH)
    for number in range(count):
        page.evaluate("() => { window.painted = 0; }")
        before = clock.wall()
        wall.say(f"timer {number % 5 + 1} {number % 40 + 2} minutes")
        painted = 0.0
        while not painted:
            painted = page.evaluate(
                "() => new Promise(done => requestAnimationFrame(() => done(window.painted)))"
            )
        found.append(painted - before)
    return found


def share_of_a_core(wall: WallStand, seconds: int) -> float:
    """Share (%) of a core that the station takes with 20 viewers, a change every second."""
    context = get_context("spawn")
    ready, stop, pause = context.Event(), context.Event(), Event()
    process = context.Process(target=look_on, args=(wall.server.port, VIEWERS, ready, stop))
    process.start()
    ready.wait(30)
    for _ in range(50):
        if wall.feed.viewers < VIEWERS:
            pause.wait(0.1)
    if wall.feed.viewers < VIEWERS:
        sys.exit(f"Only {wall.feed.viewers} of {VIEWERS} viewers came in.")
    cpu, begun = time.process_time(), time.perf_counter()
    for number in range(seconds):
        wall.say("water ten" if number % 2 == 0 else "undo", "+1")
        pause.wait(1.0)
    share = 100 * (time.process_time() - cpu) / (time.perf_counter() - begun)
    stop.set()
    process.join()
    return share


def grown(wall: WallStand, page: Page, updates: int, pause_s: float = 0.0) -> tuple[float, float]:
    """What the station's process (MB) and the page's heap (MB) are larger by after so many changes.

    `pause_s`: between two of them.
    """
    pause = Event()
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")

    def heap() -> float:
        session.send("HeapProfiler.collectGarbage")
        found = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
        return float(found["JSHeapUsedSize"]) / 1e6

    def play(count: int) -> None:
        for _ in range(count):
            wall.busy = not wall.busy
            wall.clock.move(1)
            wall.feed.changed()
            text = "speaks, hears nothing" if wall.busy else "hears you"
            page.get_by_text(text, exact=True).wait_for(state="attached")
            if pause_s:
                pause.wait(pause_s)

    play(100)  # what is made once is there
    station, before = _resident_mb(), heap()
    play(updates)
    return _resident_mb() - station, heap() - before


def _resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 1e6


TEXT = """# How quick and how small the page on the wall is

`python -m tests.bench.wall --real {real} --out tests/bench/wall/WALL.md`, on {cores} cores of an x86 machine
shared with others (before it began {load:.1f} processes wanted a core), Python {python}, Debian's Chromium
without a window, 800 x 480.

{table}

From a sentence to pixels are in it: deciding, a journal in memory, the page's values, the stream, two frames
of the browser. Growth is after 100 changes that do not count, of the resident memory of the station's process
and of the page's heap once what is not needed was collected. A change of every second is played as fast as
the page shows it, and for a stretch in real time.
"""


def main() -> None:
    """Print the figures."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--updates", type=int, default=1800, help="changes, one a second of the station")
    arguments.add_argument("--real", type=int, default=300, help="changes, one a second of real time")
    arguments.add_argument("--seconds", type=int, default=60, help="how long the viewers look on")
    arguments.add_argument("--count", type=int, default=100, help="sentences whose picture is waited for")
    arguments.add_argument("--out", type=Path, help="where the table is written to")
    chosen = arguments.parse_args()
    browser = shutil.which("chromium")
    if browser is None:
        sys.exit("Chromium is not installed (apt-get install chromium).")
    load = os.getloadavg()[0]
    lines: list[tuple[str, str, str]] = []

    def found(what: str, figure: str, aim: str) -> None:
        lines.append((what, figure, aim))
        print(f"{what}: {figure}", flush=True)

    with TemporaryDirectory() as folder, wall_stand(Path(folder)) as wall, sync_playwright() as playwright:
        wall.say(*OPENED)
        opened = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        page = opened.new_page(viewport={"width": 800, "height": 480}, reduced_motion="reduce")
        page.goto(wall.address)
        page.locator("#number:not(:empty)").wait_for()
        times = to_pixels(wall, page, chosen.count)
        most = statistics.quantiles(times, n=20)[-1]
        sentences = f"{chosen.count} sentences, typed to pixels"
        found(f"{sentences}: median", f"{1000 * statistics.median(times):.0f} ms", "at most 150 ms")
        found(f"{sentences}: 95 %", f"{1000 * most:.0f} ms", "")
        for count, pause, how in (
            (chosen.updates, 0.0, "as fast as they are shown"),
            (chosen.real, 1.0, "1 Hz"),
        ):
            station, heap = grown(wall, page, count, pause)
            found(f"{count} changes, {how}", f"station {station:+.1f} MB, page {heap:+.2f} MB", "no growth")
        opened.close()
        share = share_of_a_core(wall, chosen.seconds)
        found(
            f"{VIEWERS} viewers, {chosen.seconds} changes, one a second",
            f"{share:.1f} % of a core",
            "at most 10 %",
        )
    if chosen.out is not None:
        text = TEXT.format(
            cores=os.cpu_count(), python=platform.python_version(), load=load, real=chosen.real,
            table=table(("what", "found", "aim"), lines).rstrip(),
        )  # fmt: skip
        chosen.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

"""Makes the pictures of the README from the real program: `python -m tests.write_pictures`.

The drawings need nothing else. The page on the wall is photographed by the browser Chromium, without a
window; where there is none the old picture stays.
"""

import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event, Thread

from playwright.sync_api import sync_playwright

from assistant.board.serving import BoardServer
from assistant.sheets.charts.drawing import svg_of
from tests.pictures.drawing import conversation_svg, sheet_svg
from tests.pictures.season import UNTIL_CLOSED, UNTIL_READY, UNTIL_THE_PAGE, season
from tests.write_docs import ROOT

FOLDER = ROOT / ".pictures"
PAGE = FOLDER / "board.png"
PAGE_SIZE = (1280, 800)


def pictures(page: Path | None = None) -> dict[str, str]:
    """Every drawing by its file's name; `page`: where to put a photograph of the page on the wall."""
    with TemporaryDirectory() as folder, season(Path(folder)) as kitchen:
        drawn = {"lot.svg": svg_of(kitchen.lot_figure())}
        said = kitchen.conversation(UNTIL_THE_PAGE)
        if page is not None:
            photograph(kitchen.board(), page)
        said += kitchen.conversation(UNTIL_READY)
        drawn["conversation.svg"] = conversation_svg(said)
        kitchen.conversation(UNTIL_CLOSED)
        drawn["sheet.svg"] = sheet_svg(kitchen.sheet())
    return drawn


def photograph(server: BoardServer, file: Path) -> None:
    """Show the page in a browser and keep what it looks like."""
    browser = shutil.which("chromium")
    if browser is None:
        print(f"{file.name} stays as it is: Chromium is not installed (apt-get install chromium).")
        return
    stop = Event()
    serving = Thread(target=server.run, args=(stop,))
    serving.start()
    try:
        with sync_playwright() as playwright:
            opened = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox"])
            page = opened.new_page(viewport={"width": PAGE_SIZE[0], "height": PAGE_SIZE[1]})
            page.goto(server.address)
            page.locator("#number:not(:empty)").wait_for()
            page.screenshot(path=file)
            opened.close()
    finally:
        stop.set()
        serving.join()


def main() -> None:
    """Write all pictures again."""
    FOLDER.mkdir(exist_ok=True)
    for name, text in pictures(PAGE).items():
        (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

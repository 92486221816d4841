"""Makes the pictures of the README from the real program: `python -m tests.write_pictures`.

The drawings need nothing else. The page on the wall is photographed by the browser Chromium, without a
window; where there is none the old picture stays.
"""

import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread

from assistant.board.server import BoardServer
from assistant.sheets.charts.drawing import svg_of
from tests.pictures.drawing import conversation_svg, sheet_svg
from tests.pictures.season import UNTIL_CLOSED, UNTIL_READY, UNTIL_THE_PAGE, season
from tests.write_docs import ROOT

FOLDER = ROOT / ".pictures"
PAGE = FOLDER / "board.png"
PAGE_SIZE = (1280, 720)
QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
)  # fmt: skip
"""Chromium without a window and without a word to anybody but the page."""


def pictures(page: Path | None = None) -> dict[str, str]:
    """Every drawing by its file's name; `page`: where to put a photograph of the page on the wall."""
    with TemporaryDirectory() as folder, season(Path(folder)) as kitchen:
        drawn = {"lot.svg": svg_of(kitchen.lot_figure())}
        said = kitchen.conversation(UNTIL_THE_PAGE)
        if page is not None:
            with kitchen.board() as server:
                photograph(server, page)
        said += kitchen.conversation(UNTIL_READY)
        drawn["conversation.svg"] = conversation_svg(said)
        kitchen.conversation(UNTIL_CLOSED)
        drawn["sheet.svg"] = sheet_svg(kitchen.sheet())
    return drawn


def photograph(server: BoardServer, file: Path) -> None:
    """Show the page in a browser and keep what it looks like, a second later."""
    browser = shutil.which("chromium")
    if browser is None:
        print(f"{file.name} stays as it is: Chromium is not installed (apt-get install chromium).")
        return
    Thread(target=server.serve_forever, daemon=True).start()
    with TemporaryDirectory() as profile:
        subprocess.run(
            [
                browser,
                *QUIET,
                f"--user-data-dir={profile}",
                f"--window-size={PAGE_SIZE[0]},{PAGE_SIZE[1]}",
                "--virtual-time-budget=3000",
                f"--screenshot={file}",
                f"http://127.0.0.1:{server.server_port}/",
            ],
            check=True,
            capture_output=True,
        )
    server.shutdown()


def main() -> None:
    """Write all pictures again."""
    FOLDER.mkdir(exist_ok=True)
    for name, text in pictures(PAGE).items():
        (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

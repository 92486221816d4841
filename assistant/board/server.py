"""Serves the page and its values; reads the journal that the station is writing, and changes nothing."""

import json
import re
from collections.abc import Callable
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from assistant.batch.record.rules import BatchRules, Known
from assistant.board.board_words import PAGE, BoardWords
from assistant.board.view import board_view
from assistant.errors import CrumbcallError, SettingsError
from assistant.journal.reader import JournalReader
from assistant.nlg.replies import Replies
from assistant.ports import Clock

_PAGE = Path(__file__).with_name("page.html")
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; connect-src 'self'"


def read_view(
    journal_file: Path, clock: Clock, rules: BatchRules, replies: Replies, words: BoardWords, known: Known
) -> dict[str, Any]:
    """The page's values by the journal of now. Raises JournalError."""
    with JournalReader.open(journal_file) as journal:
        state, last = journal.load()
    current = last is not None and last.boot == clock.boot_id()
    return board_view(state, clock.monotonic(), rules, replies, words, known, current=current)


def page_text(words: BoardWords) -> str:
    """The page with its words put in."""
    found = {name: escape(words.text(f"page.{name}")) for name in PAGE}
    return re.sub(r"\{\{(\w+)\}\}", lambda mark: found[mark[1]], _PAGE.read_text(encoding="utf-8"))


class BoardServer(ThreadingHTTPServer):
    """Answers `/` and `/state.json`; everything else is not there. `view` may raise CrumbcallError."""

    daemon_threads = True

    def __init__(self, host: str, port: int, words: BoardWords, view: Callable[[], dict[str, Any]]) -> None:
        self.page = page_text(words).encode()
        self.view = view
        try:
            super().__init__((host, port), _Answer)
        except OSError as error:
            reason = error.strerror or str(error)
            raise SettingsError(
                f"The board can't be served at {host} port {port} ({reason}); "
                "choose another with --port or --host."
            ) from None


class _Answer(BaseHTTPRequestHandler):
    """One request."""

    server: BoardServer

    def do_GET(self) -> None:
        """Answer a GET; the only method there is."""
        if self.path == "/":
            self._send(200, "text/html; charset=utf-8", self.server.page)
        elif self.path == "/state.json":
            try:
                status, found = 200, self.server.view()
            except CrumbcallError as error:
                status, found = 503, {"error": str(error)}
            self._send(status, "application/json", json.dumps(found).encode())
        else:
            self._send(404, "text/plain; charset=utf-8", b"There is only the board, at /.\n")

    def _send(self, status: int, kind: str, body: bytes) -> None:
        self.send_response(status)
        for name, value in (
            ("Content-Type", kind),
            ("Content-Length", str(len(body))),
            ("Cache-Control", "no-store"),
            ("Content-Security-Policy", _POLICY),
            ("X-Content-Type-Options", "nosniff"),
        ):
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - the library's name
        """A page that asks every second is not worth a line each time."""

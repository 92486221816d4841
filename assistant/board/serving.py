"""Serves the pages: in a thread of the station, or as a command of its own."""

import asyncio
import logging
import socket
import threading
from typing import TYPE_CHECKING

from assistant.board.feed import Feed
from assistant.errors import SettingsError

if TYPE_CHECKING:
    from starlette.applications import Starlette

NEEDS = (
    "The page needs Starlette, uvicorn and Jinja2, which are not installed; run bash hardware/setup.sh "
    "again, or .venv/bin/pip install jinja2 starlette uvicorn."
)
_LONGEST_HEADERS = 8192
_GRACE_S = 1


def check_extra() -> None:
    """Raise SettingsError, one line with what to do, where the libraries of the pages are not installed."""
    from importlib.util import find_spec

    if any(find_spec(name) is None for name in ("jinja2", "starlette", "uvicorn")):
        raise SettingsError(NEEDS)


class BoardServer:
    """Serves an application at an address; `port` 0: any free. Raises SettingsError where it can't be had."""

    def __init__(self, app: "Starlette", feed: Feed, host: str, port: int) -> None:
        self._app = app
        self._feed = feed
        self.host = host
        self._socket = _listening(host, port)
        self.port: int = self._socket.getsockname()[1]

    @property
    def address(self) -> str:
        """Where the page is."""
        name = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{name}:{self.port}/"

    def run(self, stop: threading.Event) -> None:
        """Serve until stopped; in the main thread Ctrl-C ends it too."""
        import uvicorn

        from assistant.board.connections import PatientProtocol

        feed = self._feed

        class Server(uvicorn.Server):
            """Ends with its streams, which would go on for ever."""

            async def on_tick(self, counter: int) -> bool:
                self.should_exit = self.should_exit or stop.is_set()
                return await super().on_tick(counter)

            async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
                feed.close()
                await super().shutdown(sockets)

        config = uvicorn.Config(
            self._app,
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,  # a client's address is that of its connection, whatever it says
            lifespan="off",
            ws="none",
            http=PatientProtocol,
            log_level="error",  # whoever sends nonsense writes no line into the log
            timeout_keep_alive=5,
            timeout_graceful_shutdown=_GRACE_S,
            h11_max_incomplete_event_size=_LONGEST_HEADERS,
        )
        server, log = Server(config), logging.getLogger("uvicorn.error")

        def goes_on(_record: logging.LogRecord) -> bool:
            return not server.should_exit  # whoever waits at the end is let go: no news, and no traceback

        log.addFilter(goes_on)
        try:
            asyncio.run(server.serve(sockets=[self._socket]))
        finally:
            log.removeFilter(goes_on)

    def close(self) -> None:
        """Let the address go, where it was never served."""
        self._socket.close()


def _listening(host: str, port: int) -> socket.socket:
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        found = socket.socket(family, kind, protocol)
        try:
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            found.bind(address)
            found.listen(64)
        except OSError:
            found.close()
            raise
    except (OSError, UnicodeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SettingsError(
            f"The page can't be served at {host} port {port} ({reason}); "
            "choose another with --port or --host."
        ) from None
    return found

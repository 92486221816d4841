"""The live feed: one message for all viewers, made anew when the station's state changes.

Server-sent events (WHATWG HTML, 9.2): `view` is all that the page shows, `beat` says every second that the
sender lives and what time it is. Nothing is computed while nobody looks.
"""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

from assistant.board.glance import Glance
from assistant.errors import CrumbcallError

LOOK_EVERY_S = 0.25
"""How often the station is looked at without being told of a change (s)."""
BEAT_EVERY = 4
"""Looks between two beats."""
MOST_VIEWERS = 32
_TRY_AGAIN = b"retry: 1000\n\n"
"""Tells the browser to ask again a second (ms) after the connection was lost."""


class Feed:
    """What viewers are sent; `changed` may be called from any thread, all else belongs to the server's.

    `look` gives the station of now, `view` makes the page's values of it. Either may raise CrumbcallError:
    its line is shown.
    """

    def __init__(
        self,
        look: Callable[[], Glance],
        view: Callable[[Glance], dict[str, Any]],
        *,
        extra: Callable[[], dict[str, Any]] = dict,
    ) -> None:
        self._look = look
        self._view = view
        self._extra = extra
        self._loop: asyncio.AbstractEventLoop | None = None
        self._nudge: asyncio.Event | None = None
        self._news: asyncio.Condition | None = None
        self._task: asyncio.Task[None] | None = None
        self._message = b""
        self._beat = b""
        self._shown: str | None = None
        self._version = 0
        self._beats = 0
        self.viewers = 0
        self.closing = False

    def changed(self) -> None:
        """The station changed: look at once."""
        loop, nudge = self._loop, self._nudge
        if loop is not None and nudge is not None and not loop.is_closed():
            loop.call_soon_threadsafe(nudge.set)

    def close(self) -> None:
        """End all streams; from the server's thread."""
        self.closing = True
        if self._nudge is not None:
            self._nudge.set()

    @property
    def full(self) -> bool:
        """Whether no further viewer is taken."""
        return self.viewers >= MOST_VIEWERS

    async def stream(self, *, local: bool) -> AsyncIterator[bytes]:
        """What one viewer is sent, until it goes away; `local`: whether it is at the station itself."""
        self._start()
        assert self._news is not None
        self.viewers += 1
        try:
            self._refresh()
            seen = self._version, self._beats
            yield _TRY_AGAIN + self._for(local=local)
            while not self.closing:
                async with self._news:
                    while not self.closing and seen == (self._version, self._beats):
                        await self._news.wait()
                news = seen[0] != self._version
                seen = self._version, self._beats
                yield self._for(local=local) if news else self._beat
        finally:
            self.viewers -= 1

    def _for(self, *, local: bool) -> bytes:
        """The message; what only the screen at the station shows comes with it there."""
        extra = self._extra() if local else {}
        if not extra:
            return self._message
        return self._message + _event("local", json.dumps(extra, ensure_ascii=False))

    def _start(self) -> None:
        """Begin to look; again after it ended by an error of ours."""
        if self._task is None or self._task.done():
            self._loop = asyncio.get_running_loop()
            self._nudge, self._news = asyncio.Event(), asyncio.Condition()
            self._task = asyncio.create_task(self._run())

    async def _run(self) -> None:
        assert self._nudge is not None
        assert self._news is not None
        looks = 0
        while not self.closing:
            try:
                await asyncio.wait_for(self._nudge.wait(), LOOK_EVERY_S)
            except TimeoutError:
                looks += 1
            self._nudge.clear()
            if not self.viewers:
                continue
            before = self._version
            self._refresh()
            if looks >= BEAT_EVERY or self._version != before:
                looks = 0
                self._beats += 1
                async with self._news:
                    self._news.notify_all()
        async with self._news:
            self._news.notify_all()

    def _refresh(self) -> None:
        """Look at the station; a new version where anything but the time is different."""
        try:
            glance = self._look()
            view, time = self._view(glance), {"now": round(glance.now, 2), "wall": round(glance.wall, 2)}
        except CrumbcallError as error:
            view, time = {"error": str(error)}, {}
        except Exception as error:  # a page that goes silent would say that the station is gone
            line = f"The page met an error of its own ({type(error).__name__}: {error}); the station goes on."
            view, time = {"error": line}, {}
        self._beat = _event("beat", json.dumps(time))
        shown = json.dumps([view, self._extra()], ensure_ascii=False)
        if shown != self._shown:
            self._shown = shown
            self._version += 1
            self._message = _event("view", json.dumps({**view, **time}, ensure_ascii=False))


def _event(name: str, data: str) -> bytes:
    """One server-sent event; JSON has no line breaks of its own."""
    return f"event: {name}\ndata: {data}\n\n".encode()

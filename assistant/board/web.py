"""The pages as one web application: templates, assets, the live feed and the buttons put together."""

import hmac
import json
import secrets
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from assistant.board.board_words import BoardWords
from assistant.board.feed import Feed
from assistant.board.guarding import Guard, Rates, is_local, own_names
from assistant.board.pairing import COOKIE, Pairing

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import BaseRoute
    from starlette.templating import Jinja2Templates

_HERE = Path(__file__).parent
_TYPES = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
_YEAR_S = 365 * 86_400
_FULL = "Too many screens look at this page already; close one, or try again in a moment.\n"


@dataclass(frozen=True, slots=True)
class Touch:
    """What the buttons of the page need."""

    press: Callable[[str], bool]
    """Takes the key of a button; False where it is not offered any more."""
    pairing: Pairing
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    """What a press must bring with it, of this start of the station (against requests of other pages)."""


def board_templates(words: BoardWords) -> "Jinja2Templates":
    """The templates, with what all of them may use.

    `word(key, value=...)` is a wording of `board.toml`; `nav` are the links between the pages, each with
    path and text, as far as `create_app` was given these pages. What is put in is escaped; a name that is
    not there is an error.
    """
    import jinja2
    from starlette.templating import Jinja2Templates

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"word": words.text, "nav": ()}
    return Jinja2Templates(env=environment)


def create_app(
    pages: Sequence["BaseRoute"] = (),
    *,
    templates: "Jinja2Templates",
    words: BoardWords,
    feed: Feed,
    now: Callable[[], float],
    touch: Touch | None = None,
) -> "Starlette":
    """The application: the page on the wall at `/`, its feed at `/events`, and further `pages`.

    A page whose route is named `x` gets a link with the wording `nav.x`, where there is one. `now`: time (s),
    to count requests by. `touch`: None where the page only shows; it then says nothing of buttons.
    """
    from starlette.applications import Starlette
    from starlette.middleware import Middleware
    from starlette.routing import Route

    nav = [("/", words.text("nav.wall"))] if pages else []
    nav += [
        (page.path, words.text(f"nav.{page.name}"))
        for page in pages
        if isinstance(page, Route) and f"nav.{page.name}" in words.wanted()
    ]
    templates.env.globals["nav"] = nav
    shown = _Wall(templates, feed, touch)
    routes: list[BaseRoute] = [
        Route("/", shown.page, name="wall"),
        Route("/events", shown.events, name="events"),
        Route("/static/{name}", _asset, name="static"),
    ]
    if touch is not None:
        routes += [
            Route("/press", _Press(touch), methods=["POST"], name="press"),
            Route("/pair", _pair_page(templates, touch), methods=["GET", "POST"], name="pair"),
        ]
    methods = {"GET", "HEAD"} | ({"POST"} if touch is not None else set())
    guard = Middleware(Guard, names=own_names(), rates=Rates(now), methods=methods)
    return Starlette(routes=[*routes, *pages], middleware=[guard], exception_handlers={404: _not_there})


def may_press(request: "Request", touch: Touch | None) -> bool:
    """Whether a screen may press: it is at the station itself, or was paired."""
    if touch is None:
        return False
    at_the_station = request.client is not None and is_local(request.client.host)
    return at_the_station or touch.pairing.knows(request.cookies.get(COOKIE, ""))


class _Wall:
    """The page on the wall, and what it is sent."""

    def __init__(self, templates: "Jinja2Templates", feed: Feed, touch: Touch | None) -> None:
        self._templates = templates
        self._feed = feed
        self._touch = touch

    async def page(self, request: "Request") -> "Response":
        """The page; it is empty until the feed fills it."""
        allowed = may_press(request, self._touch)
        context = {
            "token": self._touch.token if allowed and self._touch else "",
            "pair": self._touch is not None and not allowed,
        }
        return self._templates.TemplateResponse(request, "wall.html", context)

    async def events(self, request: "Request") -> "Response":
        """The live feed; 503 where too many look already."""
        from starlette.responses import PlainTextResponse, StreamingResponse

        if request.method == "HEAD":
            return PlainTextResponse("", media_type="text/event-stream")
        if self._feed.full:
            return PlainTextResponse(_FULL, 503, {"Retry-After": "5"})
        local = request.client is not None and is_local(request.client.host)

        async def stream() -> AsyncIterator[bytes]:
            async for message in self._feed.stream(local=local):
                yield message

        return StreamingResponse(stream(), media_type="text/event-stream")


class _Press:
    """POST /press: a button was pressed. An ASGI application, so that only POST reaches it."""

    def __init__(self, touch: Touch) -> None:
        self._touch = touch

    async def __call__(self, scope: "_Scope", receive: "_Receive", send: "_Send") -> None:
        from starlette.requests import Request

        response = await self._answer(Request(scope, receive))
        await response(scope, receive, send)

    async def _answer(self, request: "Request") -> "Response":
        from starlette.responses import PlainTextResponse, Response

        if not may_press(request, self._touch):
            return PlainTextResponse("This screen is not paired with the station; pair it at /pair.\n", 403)
        token = request.headers.get("x-crumbcall-token", "")
        if not hmac.compare_digest(token.encode(), self._touch.token.encode()):
            return PlainTextResponse("This page is of before the station was started; load it again.\n", 403)
        key = _key_of(await request.body())
        if key is None:
            return PlainTextResponse("The request has no button; press on the page.\n", 400)
        if not self._touch.press(key):
            return PlainTextResponse("That has passed; look at the page again.\n", 409)
        return Response(status_code=204)


def _key_of(body: bytes) -> str | None:
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return None
    key = found.get("key") if isinstance(found, dict) else None
    return key if isinstance(key, str) else None


def _pair_page(templates: "Jinja2Templates", touch: Touch) -> "Callable[[Request], object]":
    """GET shows the code at the station and asks for it here; POST brings it."""

    async def answer(request: "Request") -> "Response":
        from starlette.responses import RedirectResponse

        wrong = False
        if request.method == "POST":
            fields = parse_qs((await request.body()).decode("utf-8", "replace"))
            token = touch.pairing.pair(fields.get("code", [""])[0].strip())
            if token is not None:
                done = RedirectResponse("/", 303)
                done.set_cookie(COOKIE, token, max_age=_YEAR_S, httponly=True, samesite="strict", path="/")
                return done
            wrong = True
        asked = touch.pairing.ask()
        context = {"asked": asked, "wrong": wrong}
        return templates.TemplateResponse(request, "pair.html", context, 403 if wrong else 200)

    return answer


def _read_assets() -> dict[str, tuple[bytes, str]]:
    """All assets by name: nothing of the disk is looked up by what a request says."""
    files = (_HERE / "static").iterdir()
    return {one.name: (one.read_bytes(), _TYPES[one.suffix]) for one in files if one.suffix in _TYPES}


async def _asset(request: "Request") -> "Response":
    from starlette.responses import Response

    found = _read_assets().get(request.path_params["name"])
    if found is None:
        return await _not_there(request, None)
    return Response(found[0], media_type=found[1])


async def _not_there(_request: "Request", _error: Exception | None) -> "Response":
    from starlette.responses import PlainTextResponse

    return PlainTextResponse("There is no such page; the page on the wall is at /.\n", 404)


if TYPE_CHECKING:
    from starlette.types import Receive as _Receive
    from starlette.types import Scope as _Scope
    from starlette.types import Send as _Send

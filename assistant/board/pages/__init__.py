"""The pages behind the page on the wall: today, batches, lots, the year, settings, phrase card, hearing.

Each is a pure view of what `page_readings` reads for it; one template writes them all. They only show.
"""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from assistant.board.pages.page_blocks import Lines, Page
from assistant.board.pages.page_readings import Readings
from assistant.board.pages.sources import PAPER_STYLE_AT, PageSources
from assistant.board.pages.vega_bundle import vega_bundle
from assistant.dough.ranges import BATCH_NUMBER
from assistant.errors import CrumbcallError, SettingsError
from assistant.sheets.day_account import day_of
from assistant.sheets.paper.paper_style import paper_style

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route
    from starlette.templating import Jinja2Templates

YEARS = range(1970, 9999)
"""Years that can be asked for."""
_BUSY = "Another page to print is being set; load this one again in a moment.\n"
_MOST = int(BATCH_NUMBER.most)

__all__ = ["PageSources", "page_routes"]


def page_routes(templates: "Jinja2Templates", sources: PageSources, scripts: Path) -> "list[Route]":
    """Routes of all pages. `scripts`: folder in which the script that draws is kept."""
    from starlette.responses import Response
    from starlette.routing import Route

    # However many look, the station's own thread waits for one page at most.
    readings, one_at_a_time = Readings(sources), Lock()
    templates.env.filters["json"] = lambda spec: json.dumps(spec, allow_nan=False, separators=(",", ":"))

    def shown(make: "Callable[[Request], Page | None]") -> "Callable[[Request], Response]":
        """An endpoint that shows a page; what can't be shown is one line, and never a traceback."""

        def endpoint(request: "Request") -> "Response":
            status, page = 200, None
            try:
                with one_at_a_time:
                    page = make(request)
                problem = "" if page else f"{request.url.path} is not known here; go by the links."
                status = 200 if page else 404
            except _AddressError as error:
                status, problem = 400, str(error)
            except CrumbcallError as error:
                status, problem = 503, str(error)
            if page is None:
                page = Page(sources.words.text("title.problem"), [Lines((problem,))])
            return templates.TemplateResponse(request, "page.html", {"page": page}, status_code=status)

        return endpoint

    def script(_request: "Request") -> "Response":
        try:
            made = vega_bundle(scripts)
        except CrumbcallError as error:
            return Response(f"{error}\n", 503, media_type="text/plain")
        return Response(made, media_type="text/javascript", headers={"Cache-Control": "max-age=86400"})

    setting = Lock()

    def printed(make: "Callable[[Request], str | None]") -> "Callable[[Request], Response]":
        """An endpoint that shows paper as it is printed. Setting takes seconds: a second one is refused."""

        def endpoint(request: "Request") -> "Response":
            if not setting.acquire(blocking=False):
                return Response(_BUSY, 503, {"Retry-After": "5"}, "text/plain")
            try:
                page = make(request)
            except CrumbcallError as error:
                return Response(f"{error}\n", 503, media_type="text/plain")
            finally:
                setting.release()
            if page is None:
                return Response(f"{request.url.path} is not known here; go by the links.\n", 404)
            return Response(page, media_type="text/html")

        return endpoint

    def style(_request: "Request") -> "Response":
        return Response(paper_style(), media_type="text/css")

    paper: dict[str, tuple[str, Callable[[Request], str | None]]] = {
        "paper_sheet": ("/paper/sheet/{number}", lambda request: _paper(sources.paper.sheet, request)),
        "paper_labels": ("/paper/labels/{number}", lambda request: _paper(sources.paper.labels, request)),
        "paper_day": ("/paper/day", lambda _: sources.paper.day(day_of(sources.clock.wall(), sources.zone))),
    }
    pages: dict[str, tuple[str, Callable[[Request], Page | None]]] = {
        "today": ("/today", lambda _: readings.today()),
        "batches": ("/batches", lambda request: readings.batches(_number(request, "before"))),
        "batch": ("/batches/{number}", lambda request: _batch(readings, request)),
        "lots": ("/lots", lambda _: readings.lots()),
        "lot": ("/lots/{lot:path}", lambda request: readings.lot(request.path_params["lot"])),
        "year": ("/year", lambda request: readings.year(_number(request, "year", YEARS))),
        "hearing": ("/hearing", lambda request: readings.hearing(_day(request))),
        "card": ("/card", lambda _: readings.card()),
        "settings": ("/settings", lambda _: readings.settings()),
    }
    routes = [Route(path, shown(make), name=name, methods=["GET"]) for name, (path, make) in pages.items()]
    routes += [Route(path, printed(make), name=name, methods=["GET"]) for name, (path, make) in paper.items()]
    routes.append(Route(PAPER_STYLE_AT, style, name="paper_style", methods=["GET"]))
    return [*routes, Route("/charts/vega.js", script, name="charts", methods=["GET"])]


class _AddressError(SettingsError):
    """A value in the address that can't be."""


def _batch(readings: Readings, request: "Request") -> Page | None:
    """The page of a batch; None where there is none of that number."""
    number = _whole(request.path_params["number"], range(1, _MOST + 1))
    return None if number is None else readings.batch(number)


def _paper(make: Callable[[int], str], request: "Request") -> str | None:
    """Paper of a batch; None where that is no number of one."""
    number = _whole(request.path_params["number"], range(1, _MOST + 1))
    return None if number is None else make(number)


def _number(request: "Request", name: str, allowed: range = range(1, _MOST + 1)) -> int | None:
    """A whole number of the address; None where it is not given. Raises _AddressError."""
    text = request.query_params.get(name)
    if text is None:
        return None
    number = _whole(text, allowed)
    if number is None:
        raise _AddressError(
            f"{name}={text[:20]!r}: a whole number from {allowed[0]} to {allowed[-1]} is allowed; "
            "mend the address."
        )
    return number


def _whole(text: str, allowed: range) -> int | None:
    digits = text.isascii() and text.isdigit() and len(text) <= len(str(allowed[-1]))
    return int(text) if digits and int(text) in allowed else None


def _day(request: "Request") -> date | None:
    """The day of the address; None where it is not given. Raises _AddressError."""
    text = request.query_params.get("day")
    if text is None:
        return None
    try:
        day = date.fromisoformat(text[:20])
    except ValueError:
        day = None
    if day is None or day.year not in YEARS:
        raise _AddressError(f"day={text[:20]!r}: a day as 2026-03-02 is allowed; mend the address.")
    return day

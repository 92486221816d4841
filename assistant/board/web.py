"""The pages as one web application: templates, assets and routes put together. Nothing is served here yet."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.board.board_words import BoardWords

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import BaseRoute
    from starlette.templating import Jinja2Templates

_HERE = Path(__file__).parent


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
    pages: Sequence["BaseRoute"] = (), *, templates: "Jinja2Templates", words: BoardWords
) -> "Starlette":
    """The application: the page on the wall at `/`, its assets at `/static`, and further `pages`.

    A page whose route is named `x` gets a link with the wording `nav.x`, where there is one.
    """
    from starlette.applications import Starlette
    from starlette.routing import Mount, Route
    from starlette.staticfiles import StaticFiles

    def wall(request: "Request") -> "Response":
        return templates.TemplateResponse(request, "wall.html")

    links = [("/", words.text("nav.wall"))] if pages else []
    links += [
        (page.path, words.text(f"nav.{page.name}"))
        for page in pages
        if isinstance(page, Route) and f"nav.{page.name}" in words.wanted()
    ]
    templates.env.globals["nav"] = links
    return Starlette(
        routes=[
            Route("/", wall, name="wall"),
            *pages,
            Mount("/static", StaticFiles(directory=_HERE / "static"), name="static"),
        ]
    )

"""`crumbcall board`: the page on the wall."""

from threading import Event

import click

from assistant.app.adapters import real_clock
from assistant.app.application import open_application
from assistant.app.pages.wall_page import HOST, PORT, At, page_beside
from assistant.board.serving import check_extra
from assistant.config.home import Home


@click.command("board")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0: any free one."
)
@click.option("--host", default=HOST, show_default=True, help="Address to serve at; 0.0.0.0 for the network.")
@click.pass_obj
def board_command(home: Home, port: int, host: str) -> None:
    """Serve the page on the wall: the account, the next step and the timers, large. It only shows.

    Example: crumbcall board --host 0.0.0.0
    """
    check_extra()
    app = open_application(home)
    server = page_beside(app, real_clock(app.settings), At(host, port))
    click.echo(f"The page is at {server.address} until Ctrl-C.")
    server.run(Event())

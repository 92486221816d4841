"""`crumbcall board`: the page on the wall."""

from typing import Any

import click

from assistant.app.adapters import real_clock
from assistant.app.application import open_application
from assistant.board.board_words import BoardWords
from assistant.board.server import BoardServer, read_view
from assistant.config.home import Home


@click.command("board")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8036, show_default=True, help="0: any free one."
)
@click.option(
    "--host", default="127.0.0.1", show_default=True, help="Address to serve at; 0.0.0.0 for the network."
)
@click.pass_obj
def board_command(home: Home, port: int, host: str) -> None:
    """Serve the page on the wall: the account, the next step and the timers, large. It only shows.

    Example: crumbcall board --host 0.0.0.0
    """
    app = open_application(home)
    clock = real_clock()
    words = BoardWords.of(home, app.settings.station.language)

    def view() -> dict[str, Any]:
        return read_view(home.journal_file, clock, app.rules, app.replies, words, app.known(clock))

    server = BoardServer(host, port, words, view)
    click.echo(f"The board is at http://{host}:{server.server_port}/ until Ctrl-C.")
    with server:
        server.serve_forever()

"""`crumbcall listen`: the main job, live at the microphone or from a recording."""

from pathlib import Path

import click

from assistant.app.application import open_application
from assistant.app.languages import language_note
from assistant.app.live_station import open_live_station
from assistant.app.pages.wall_page import HOST, PORT, At
from assistant.app.replayed_station import open_replayed_station
from assistant.app.scale_setup import chosen_scale
from assistant.board.serving import check_extra
from assistant.cli.output import report_damage, show_turn
from assistant.cli.terminal import show
from assistant.config.home import Home
from assistant.config.settings import moved_in
from assistant.errors import SettingsError


@click.command("listen")
@click.option(
    "--from",
    "recording",
    type=click.Path(path_type=Path),
    help="Hear this recording as if it were the microphone, at full speed.",
)
@click.option("--no-voice", is_flag=True, help="Replies on the terminal only.")
@click.option("--device", help="Microphone: a part of its name.")
@click.option("--scale", help="Jug scale: none, nau7802, hx711, or replay:FILE of recorded samples.")
@click.option("--board", is_flag=True, help="Serve the page on the wall too, with buttons to press.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="Of the page; 0: any free one.",
)
@click.option("--host", default=HOST, show_default=True, help="Address of the page; 0.0.0.0 for the network.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.pass_obj
def listen_command(
    home: Home,
    recording: Path | None,
    no_voice: bool,
    device: str | None,
    scale: str | None,
    board: bool,
    port: int,
    host: str,
    as_json: bool,
) -> None:
    """Hear the cook and run the batch.

    Example: crumbcall listen --device usb
    """
    if board:
        check_extra()  # reported before anything is opened
    if board and recording is not None:
        raise SettingsError(
            "A recording is heard at full speed and has no page; leave out --board or --from."
        )
    app = open_application(home)
    if (note := language_note(app.settings)) is not None:
        _warn(note)
    for line in moved_in(home.settings_file):
        _warn(line)
    if app.cook.problem:
        _warn(app.cook.problem)
    chosen_scale(scale, app.settings.scale)  # a wrong one is reported before anything is opened
    opened = (
        open_replayed_station(app, recording, scale)
        if recording is not None
        else open_live_station(
            app,
            device=device,
            scale=scale,
            silent=no_voice,
            warn=_warn,
            page=At(host, port) if board else None,
        )
    )
    report_damage(opened.journal)
    opened.run(lambda turn, _: show_turn(turn, opened.start, as_json=as_json))


def _warn(line: str) -> None:
    show(line, err=True)

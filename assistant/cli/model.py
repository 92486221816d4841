"""`crumbcall model`: fetch the English model for the Vosk recogniser, for kitchens that want it."""

import click

from assistant.asr.models import SMALL_ENGLISH, fetch_model
from assistant.config.home import Home


@click.group("model")
def model_command() -> None:
    """Models that are not built in. The built-in recogniser needs none.

    Example: crumbcall model get
    """


@model_command.command("get")
@click.pass_obj
def get(home: Home) -> None:
    """Fetch the official small English Vosk model, about 40 MB, and check its size and checksum.

    Example: crumbcall model get
    """
    shown = -1

    def progress(here: int, whole: int) -> None:
        nonlocal shown
        percent = 100 * here // whole if whole else 0
        if percent // 5 != shown:
            shown = percent // 5
            click.echo(f"\r{here / 1e6:5.1f} of {whole / 1e6:.1f} MB", nl=False, err=True)

    folder = fetch_model(home.models_folder, progress, SMALL_ENGLISH)
    click.echo("", err=True)
    click.echo(
        f"{folder}\nUse it by two lines in {home.settings_file}:\n"
        f'[recogniser]\nengine = "vosk"\nmodel = "{folder}"'
    )

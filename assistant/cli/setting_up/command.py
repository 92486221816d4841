"""`crumbcall setup`: a conversation at the terminal that writes the settings."""

import click

from assistant.app.setting_up.sound_trial import RealDevices, SoundDevices, first_that_works
from assistant.audio.sound_cards import Direction
from assistant.cli.setting_up.steps import STEPS, Bench, take_step
from assistant.config.home import Home
from assistant.config.language.settings_writer import keep_setting
from assistant.config.settings import Settings
from assistant.errors import SoundError


@click.command("setup")
@click.argument("steps", nargs=-1, type=click.Choice(list(STEPS)), metavar="[STEP]...")
@click.option("--list", "list_only", is_flag=True, help="Only list the steps.")
@click.option("--try-sound", is_flag=True, help="Ask nothing: choose microphone and speaker by trying them.")
@click.pass_context
def setup_command(context: click.Context, steps: tuple[str, ...], list_only: bool, try_sound: bool) -> None:
    """Set this station up by questions and answers: all steps, or those that are named.

    Each answer is kept at once. Enter leaves what is there, "skip" leaves a step, Ctrl-C ends it: nothing is
    lost, and every step can be taken again.

    Example: crumbcall setup microphone speaker
    """
    home: Home = context.obj
    sound = RealDevices(lambda: Settings.load(home.settings_file))
    if list_only:
        for name, step in STEPS.items():
            click.echo(f"{name:<11} {step.about}")
    elif try_sound:
        choose_sound(home, sound)
    else:
        converse(steps or tuple(STEPS), Bench(home, sound, context))


def converse(steps: tuple[str, ...], bench: Bench) -> None:
    """Lead through these steps; the end of the input, or Ctrl-C, ends it, with all answers kept."""
    Settings.load(bench.home.settings_file)  # a file that can't be read is reported before anything is asked
    click.echo('Enter leaves what is in brackets, "skip" leaves a step, Ctrl-C ends it.')
    try:
        failed = [name for name in steps if not take_step(name, bench)]
    except click.Abort:
        click.echo(
            f"\nEnded. What you answered is in {bench.home.settings_file}; go on with: crumbcall setup"
        )
        return
    click.echo(f"\nKept in {bench.home.settings_file}. A station that runs takes it at its next start.")
    if failed:
        click.echo(f"Not yet: {', '.join(failed)}.")


def choose_sound(home: Home, sound: SoundDevices) -> None:
    """Choose microphone and speaker by trying, where the settings name none."""
    settings = Settings.load(home.settings_file)
    chosen: tuple[tuple[Direction, str, str], ...] = (
        ("input", "microphone", settings.microphone.device),
        ("output", "speaker", settings.speaker.device),
    )
    for direction, section, present in chosen:
        if present:
            click.echo(f"{section}: {present}, as the settings say")
            continue
        try:
            names = sound.names(direction)
        except SoundError as error:
            click.echo(f"{section}: {error}")
            continue
        found, failed = first_that_works(names, sound.level_dbfs if direction == "input" else sound.ring)
        for line in failed:
            click.echo(f"{section}: {line}")
        if found is None:
            click.echo(f"{section}: none works yet; plug one in, then: crumbcall setup {section}")
        else:
            keep_setting(home.settings_file, section, "device", found)
            click.echo(f"{section}: {found}")

"""The steps of setting a station up, each for itself: all may be skipped, and taken again at any time."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import click

from assistant.app.setting_up.sound_trial import SoundDevices
from assistant.audio.sound_cards import Direction
from assistant.cli.hearing_test import hearing_test_command
from assistant.cli.quantity import read_figure
from assistant.cli.scale import KNOWN_MASS_G, calibrate_command
from assistant.cli.setting_up.answers import SkippedError, ask, ask_setting, ask_until, choose
from assistant.cli.setting_up.own_recipe import ask_recipe
from assistant.cli.wall.card import card_command
from assistant.config.home import Home
from assistant.config.language.settings_writer import keep_setting
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.config.resources import languages
from assistant.config.settings import Settings
from assistant.dough.ranges import HOPPER_G
from assistant.errors import CrumbcallError, SoundError

CHIPS = ("none", "nau7802", "hx711")


@dataclass(frozen=True, slots=True)
class Bench:
    """What the steps work on."""

    home: Home
    sound: SoundDevices
    context: click.Context
    """Of the command, for the commands that a step leads to."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the conversation."""

    title: str
    about: str
    run: Callable[[Bench], None]
    """Raises SkippedError, and CrumbcallError where something does not work."""


def _house(bench: Bench) -> None:
    ask_setting(bench.home, "Name of this kitchen", "station", "id")


def _language(bench: Bench) -> None:
    present = Settings.load(bench.home.settings_file).station.language
    chosen = choose("Which", languages(bench.home.config / "grammar"), present)
    if chosen != present:
        keep_setting(bench.home.settings_file, "station", "language", chosen)


def _hopper(bench: Bench) -> None:
    grams = Settings.load(bench.home.settings_file).batch.hopper_g
    ask_setting(
        bench.home,
        "Flour and water that it holds",
        "batch",
        "hopper_g",
        lambda said: read_figure(HOPPER_G, said),
        shown=f"{grams:g} g",
    )


def _recipes(bench: Bench) -> None:
    pantry = Pantry.load(bench.home.config / OWN_FILE)
    names = sorted(Recipes.load(pantry, bench.home.config / OWN_FOLDER).plans)
    click.echo(f"  Known: {', '.join(names)}. Any of them is named before a batch: recipe {names[0]}.")
    ask_recipe(bench.home)


def _microphone(bench: Bench) -> None:
    def works(name: str) -> str:
        return f"It hears you: {bench.sound.level_dbfs(name):.0f} dBFS at the loudest."

    _device(bench, "input", "microphone", "Say something when you have chosen.", works)


def _speaker(bench: Bench) -> None:
    def works(name: str) -> str:
        bench.sound.ring(name)
        if not click.confirm("Did you hear it?", default=True):
            raise SoundError("Not heard; turn it up, check its plug, or choose another.")
        return "Good."

    _device(bench, "output", "speaker", "It will ring once.", works)


def _device(
    bench: Bench, direction: Direction, section: str, about: str, works: Callable[[str], str]
) -> None:
    """Choose one from the list until one works, and keep it."""
    names = bench.sound.names(direction)
    if not names:
        raise SoundError(
            f"There is no {section} on this machine; plug one in and run: crumbcall setup {section}"
        )
    click.echo(f"  {about}")
    present = getattr(Settings.load(bench.home.settings_file), section).device
    while True:
        name = choose("Which", names, present)
        try:
            click.echo(f"  {works(name)}")
        except SoundError as error:
            click.echo(f"  {error}")
            continue
        keep_setting(bench.home.settings_file, section, "device", name)
        return


def _scale(bench: Bench) -> None:
    present = Settings.load(bench.home.settings_file).scale.chip
    chip = choose("Which board is wired", CHIPS, present)
    if chip != present:
        keep_setting(bench.home.settings_file, "scale", "chip", chip)
    if chip == CHIPS[0]:
        return
    mass_g = ask_until(
        "Mass of the weight to calibrate with, near that of a full jug",
        "2000 g",
        lambda said: read_figure(KNOWN_MASS_G, said),
    )
    bench.context.invoke(calibrate_command, mass_g=mass_g, note="")


def _hearing(bench: Bench) -> None:
    cook = ask("Who speaks? Let the mixer run, and read out what is shown", "cook")
    bench.context.invoke(
        hearing_test_command, folder=None, device=None, cook=cook, list_only=False, keep=True, as_json=False
    )


def _card(bench: Bench) -> None:
    def take(said: str) -> None:
        bench.context.invoke(card_command, file=Path(said))

    ask_until("File for the card, to be printed", "card.pdf", take)


STEPS: dict[str, Step] = {
    "house": Step("House", "What this station is called.", _house),
    "language": Step("Language", "What it answers in; it hears English.", _language),
    "hopper": Step("Hopper", "A batch that does not fit is refused.", _hopper),
    "recipes": Step("Recipes", "Doughs of your own, beside those that ship.", _recipes),
    "microphone": Step("Microphone", "The one near the cook's mouth.", _microphone),
    "speaker": Step("Loudspeaker", "What it answers through.", _speaker),
    "scale": Step("Jug scale", "Optional; hardware/README.md says how to wire one.", _scale),
    "hearing": Step("Hearing test", "Twenty prompts, some three minutes.", _hearing),
    "card": Step("Phrase card", "What can be said, on one page for the wall.", _card),
}


def take_step(name: str, bench: Bench) -> bool:
    """Lead through one step; whether it worked. What does not work is told, and the next one is taken."""
    step = STEPS[name]
    click.echo(f"\n{step.title}. {step.about}")
    try:
        step.run(bench)
    except SkippedError:
        click.echo("  Skipped.")
    except CrumbcallError as error:
        click.echo(f"  {error}")
        click.echo(f"  Later: crumbcall setup {name}")
        return False
    return True

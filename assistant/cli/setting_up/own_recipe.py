"""Asks for a dough of the kitchen's own, and writes its recipe."""

from pathlib import Path
from tempfile import TemporaryDirectory

import click
import tomlkit

from assistant.cli.quantity import read_figure
from assistant.cli.setting_up.answers import ask, ask_until
from assistant.config.home import Home
from assistant.config.language.words_file import write_words
from assistant.config.pantry import OWN_FILE, Pantry
from assistant.config.recipes import OWN_FOLDER, Recipes
from assistant.dough.ranges import TARGET_PCT
from assistant.errors import CrumbcallError, SettingsError

_HEAD = "Written by crumbcall setup; those in assistant/config/data/recipes show what else may be here."


def ask_recipe(home: Home) -> None:
    """Ask for name, flour and target of one recipe after another, until none is named. SkippedError."""
    while name := ask("Name of one to write, Enter for none", ""):
        try:
            write_recipe(home, _checked(home, name), ask("Its flour", "semolina"), _target())
        except CrumbcallError as error:
            click.echo(f"  {error}")


def write_recipe(home: Home, name: str, flour: str, target_pct: float | None) -> None:
    """Write a recipe of one flour, checked as the station reads it. Raises RecipeError, SettingsError."""
    document = tomlkit.document()
    document.add(tomlkit.comment(_HEAD))
    document["name"] = name
    if target_pct is not None:
        document["target_pct"] = target_pct
    document["flour"] = {flour: 100}
    file, text = home.config / OWN_FOLDER / f"{name.replace(' ', '_')}.toml", tomlkit.dumps(document)
    with TemporaryDirectory() as folder:  # a station does not start with a recipe that can't be used
        tried = Path(folder) / file.name
        tried.write_text(text, encoding="utf-8")
        Recipes.load(Pantry.load(home.config / OWN_FILE), tried.parent)
    write_words(file, text)
    click.echo(f"  {file} written; additions are lines in it. Say: recipe {name}.")


def _checked(home: Home, name: str) -> str:
    """The name, where it can be said and is not taken. Raises SettingsError."""
    told = name.casefold()
    if not all(word.isalpha() and word.isascii() for word in told.split()) or len(told) > 40:
        raise SettingsError(f"Found the name '{name}', allowed are words of letters, 40 at most; name it so.")
    if (home.config / OWN_FOLDER / f"{told.replace(' ', '_')}.toml").exists():
        raise SettingsError(f"There is a recipe {told} already; change its file, or take another name.")
    return told


def _target() -> float | None:
    """The hydration aimed at (%); None: as usual for its flour."""

    def take(said: str) -> float | None:
        return None if said == "usual" else read_figure(TARGET_PCT, said)

    return ask_until("Water per 100 of flour", "usual", take)

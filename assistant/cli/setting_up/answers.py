"""Questions that set a station up: what is typed is kept at once, Enter leaves what is there."""

from collections.abc import Callable, Sequence
from typing import TypeVar

import click

from assistant.config.home import Home
from assistant.config.language.settings_writer import keep_setting
from assistant.config.settings import Settings
from assistant.errors import CrumbcallError

Answer = TypeVar("Answer")
SKIP = "skip"


class SkippedError(Exception):
    """The rest of a step is left as it is."""


def ask(question: str, default: str) -> str:
    """What is typed, in one line; Enter takes the default. Raises SkippedError."""
    said = str(click.prompt(question, default=default, show_default=bool(default))).strip()
    if said.casefold() == SKIP:
        raise SkippedError
    return said


def ask_until(question: str, default: str, take: Callable[[str], Answer]) -> Answer:
    """Ask until `take` takes it; a CrumbcallError is told, and it is asked again. Raises SkippedError."""
    while True:
        try:
            return take(ask(question, default))
        except CrumbcallError as error:
            click.echo(f"  {error}")


def ask_setting(
    home: Home,
    question: str,
    section: str,
    key: str,
    read: Callable[[str], str | float | bool] = str,
    *,
    shown: str | None = None,
) -> None:
    """Ask for a setting and keep it, where another one than that in force is typed.

    `shown`: the present value as a person writes it. Raises SkippedError.
    """
    present = getattr(getattr(Settings.load(home.settings_file), section), key)
    default = str(present) if shown is None else shown

    def take(said: str) -> None:
        if said != default:
            keep_setting(home.settings_file, section, key, read(said))

    ask_until(question, default, take)


def choose(question: str, what: Sequence[str], present: str) -> str:
    """One of a numbered list, by its number or its text; Enter takes `present`. Raises SkippedError."""
    for number, one in enumerate(what, 1):
        click.echo(f"  {number}  {one}")

    def take(said: str) -> str:
        if said in what:
            return said
        if said.isdecimal() and 1 <= int(said) <= len(what):
            return what[int(said) - 1]
        raise CrumbcallError(f"Found '{said}', allowed is a number from 1 to {len(what)}; type one.")

    return ask_until(question, present if present in what else "1", take)

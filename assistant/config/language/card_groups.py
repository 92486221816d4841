"""Which rules of the grammar the phrase card shows, as `card.toml` of a language has it."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.config.toml_file import Place, read_struct
from assistant.config.toml_words import did_you_mean, shown
from assistant.errors import SettingsError

FILE = "card.toml"

GROUPS = (
    "begin",
    "water",
    "mix",
    "die",
    "ask",
    "machine",
    "account",
    "timers",
    "tray",
    "day",
    "answers",
    "station",
)
"""The headings that sheets.toml has words for."""

_Text = Annotated[str, Meta(min_length=1)]


class CardGroup(Struct, frozen=True):
    """Rules under one heading."""

    name: _Text
    """One of GROUPS."""
    rules: tuple[_Text, ...]
    main: bool = False
    """Whether an ordinary batch is made with them: in large letters."""


class CardGroups(Struct, frozen=True):
    """The rules of the card, group by group, and those that are left out."""

    group: tuple[CardGroup, ...]
    whole: tuple[_Text, ...] = ()
    """Rules whose examples all differ in meaning: shown all, however little room there is."""
    left_out: dict[str, str] = {}
    """Rule -> why the card does not show it."""


def read_card_groups(file: Path) -> CardGroups:
    """Groups of a TOML file. Raises SettingsError (one line)."""
    groups = read_struct(file, CardGroups)
    for number, group in enumerate(groups.group, 1):
        if group.name not in GROUPS:
            place = Place(file, SettingsError, ("group", number, "name"))
            raise place.refuse(f"= {shown(group.name)}; {did_you_mean(group.name, GROUPS)} Write that.")
    return groups

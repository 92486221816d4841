"""The scene of a rehearsal, as `rehearsal.toml` of a language has it."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from assistant.config.toml_file import Place, read_struct
from assistant.config.toml_words import ALLOWED, EXAMPLE, UNIT
from assistant.errors import SettingsError

FILE = "rehearsal.toml"

_Text = Annotated[str, Meta(min_length=1)]


class Cue(Struct, frozen=True):
    """One turn of a scene: exactly one of its fields is set."""

    say: _Text | None = None
    """A command of the cook's."""
    talk: _Text | None = None
    """Ordinary talk, which must not be answered."""
    wait: Annotated[float, Meta(ge=0, le=3600, extra={UNIT: "s"})] | None = None
    """Time that passes (s)."""
    until: Annotated[str, Meta(pattern=r"^ring\Z", extra={ALLOWED: '"ring"'})] | None = None
    """What is waited for: a timer that rings."""

    @property
    def set(self) -> tuple[str, ...]:
        """Names of the fields that are set."""
        return tuple(name for name in self.__struct_fields__ if getattr(self, name) is not None)


class Scene(Struct, frozen=True):
    """Who speaks, and the turns in order."""

    title: Annotated[_Text, Meta(extra={EXAMPLE: 'title = "A morning"'})]
    cook: Annotated[_Text, Meta(extra={EXAMPLE: 'cook = "en-us"'})]
    """Name of the espeak-ng voice that plays the cook."""
    rate: Annotated[int, Meta(ge=80, le=300, extra={UNIT: "words a minute", EXAMPLE: "rate = 150"})]
    turn: Annotated[
        list[Cue],
        Meta(
            min_length=1,
            extra={ALLOWED: 'turns, as [{ say = "undo" }]', EXAMPLE: 'turn = [{ say = "undo" }]'},
        ),
    ]


def read_scene(file: Path) -> Scene:
    """Scene of a TOML file. Raises SettingsError (one line)."""
    scene = read_struct(file, Scene)
    for number, cue in enumerate(scene.turn, 1):
        if len(cue.set) != 1:
            place = Place(file, SettingsError, ("turn", number))
            found = ", ".join(cue.set) or "nothing"
            raise place.refuse(f"has {found}, allowed is one of say, talk, wait, until; write one of them.")
    return scene

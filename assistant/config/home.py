"""Where a station's own files are: in one named folder, or in the two of the XDG Base Directory standard.

XDG Base Directory Specification: a relative path in XDG_CONFIG_HOME or XDG_DATA_HOME is to be ignored; where
one is unset or empty, the folders are ~/.config and ~/.local/share.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from assistant.config.resources import ENGLISH, grammar_folder
from assistant.errors import SettingsError, is_storage_failure

VARIABLE = "CRUMBCALL_HOME"
KEPT_VARIABLE = "CRUMBCALL_KEPT"
_NAME = "crumbcall"


@dataclass(frozen=True, slots=True)
class Home:
    """The folders of a station's own files; they may be the same."""

    config: Path
    """Folder of what the kitchen writes."""
    data: Path
    """Folder of what the station writes."""

    @classmethod
    def find(cls, home: Path | None = None, environ: Mapping[str, str] | None = None) -> Self:
        """The folder `home`, else that of CRUMBCALL_HOME, else the XDG folders. Raises SettingsError."""
        environ = os.environ if environ is None else environ
        named = home or (Path(environ[VARIABLE]) if environ.get(VARIABLE) else None)
        try:
            if named:
                folder = named.expanduser().absolute()
                return cls(folder, folder)
            return cls(
                _xdg(environ, "XDG_CONFIG_HOME", ".config") / _NAME,
                _xdg(environ, "XDG_DATA_HOME", ".local/share") / _NAME,
            )
        except (RuntimeError, OSError) as error:  # from expanduser, absolute
            raise SettingsError(
                f"no folder to keep things in is known ({error}); name one with --home."
            ) from error

    @property
    def settings_file(self) -> Path:
        """The kitchen's settings; need not exist."""
        return self.config / "settings.toml"

    @property
    def journal_file(self) -> Path:
        """The record of all batches."""
        return self.data / "journal.sqlite"

    @property
    def group_file(self) -> Path:
        """What the other stations of the group know; a copy, and may be deleted at any time."""
        return self.data / "group.sqlite"

    @property
    def scale_file(self) -> Path:
        """The jug scale's calibration."""
        return self.data / "scale.json"

    @property
    def models_folder(self) -> Path:
        """Recognisers' models that were fetched."""
        return self.data / "models"

    @property
    def kept_folder(self) -> Path:
        """What takes long to work out at a start, kept for the next; may be deleted at any time.

        Stations of one machine may share it: CRUMBCALL_KEPT names it then.
        """
        shared = os.environ.get(KEPT_VARIABLE)
        return Path(shared) if shared else self.data / "kept"

    def grammar_folder(self, language: str = ENGLISH) -> Path:
        """Where the kitchen's edited copies of a language's files go; need not exist."""
        return self.config / "grammar" / language

    def language_file(self, name: str, language: str = ENGLISH) -> Path:
        """The file that counts where only one does: the kitchen's own copy, else the one that ships."""
        return self.language_files(name, language)[-1]

    def language_files(self, name: str, language: str = ENGLISH) -> tuple[Path, ...]:
        """The language file that ships, then the kitchen's own where there is one, for those that add up.

        Where none ships in this language, the English ones come first.
        """
        shipped = grammar_folder(language) / name
        own = self.grammar_folder(language) / name
        owned = (own,) if own.exists() else ()
        if language == ENGLISH or shipped.exists():
            return (shipped, *owned)
        return (*self.language_files(name), *owned)

    def walk_files(self, name: str, language: str = ENGLISH) -> tuple[Path, ...]:
        """Files of walk-throughs, those that ship first.

        What the kitchen wrote in English is among them whatever the language is: its walk-throughs are asked
        for by their English names, and their steps are those of its own machine.
        """
        files = (*self.language_files(name), *self.language_files(name, language))
        own = {self.grammar_folder(one) / name for one in (ENGLISH, language)}
        return tuple(dict.fromkeys(sorted(files, key=lambda file: file in own)))

    def make(self) -> None:
        """Make the folder that the station writes to, if its storage takes one. Raises SettingsError."""
        try:
            self.data.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            if is_storage_failure(error):
                return
            raise SettingsError(
                f"the folder {self.data} can't be made ({error.strerror}); name another one with --home."
            ) from error


def _xdg(environ: Mapping[str, str], variable: str, otherwise: str) -> Path:
    folder = Path(environ.get(variable, ""))
    if folder.is_absolute():
        return folder
    return (Path(environ["HOME"]) if environ.get("HOME") else Path.home()) / otherwise

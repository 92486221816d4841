"""A station as a member of its group: its name, and the random id of its installation that owns the name."""

import hashlib
import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from assistant.errors import SyncError

FILE = "installation"


@dataclass(frozen=True, slots=True)
class Member:
    """Who a station is on the group's server."""

    name: str
    """Its name: `[station] id`."""
    installation: str
    """Random, made once; whoever has it may write under the name."""

    @property
    def digest(self) -> bytes:
        """What the server keeps of it: its SHA-256."""
        return hashlib.sha256(self.installation.encode()).digest()

    @property
    def stagger(self) -> float:
        """A number from 0 to 1 that is another for each: so that not all come at once."""
        return self.digest[0] / 255


def member(name: str, folder: Path) -> Member:
    """The station of this name whose data are in a folder; its id is made where there is none yet.

    Raises SyncError where it can't be read or written.
    """
    file = folder / FILE
    try:
        if not file.exists():
            folder.mkdir(parents=True, exist_ok=True)
            part = file.with_name(f"{FILE}.{os.getpid()}")
            handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w", encoding="ascii") as written:
                written.write(secrets.token_hex(16))
                written.flush()
                os.fsync(written.fileno())
            try:
                # A link, not a rename: of two that come at once the first counts.
                os.link(part, file)
            except FileExistsError:
                pass
            finally:
                part.unlink()
        found = file.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise SyncError(
            f"{file} can't be used ({error}); it says whose name is whose in the group."
        ) from error
    if len(found) != 32:
        raise SyncError(
            f"{file} is damaged; delete it, and have the name freed: crumbcall sync release '{name}'."
        )
    return Member(name, found)

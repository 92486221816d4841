"""What was worked out at an earlier start, in files that may be deleted at any time.

A file counts only for the same grammar, the same own words and the same program, and only whole: its head is
the digest of these and of what follows. Whatever else is found there is as good as nothing, and is written
anew. What the files hold are numbers and words (`packed`), nothing that could be run.
"""

import hashlib
import os
from contextlib import suppress
from functools import cache
from pathlib import Path
from tempfile import NamedTemporaryFile

import assistant.batch.decide.slots
import assistant.batch.record
import assistant.nlu
import assistant.ports

MAGIC = b"crumbcall, kept between starts\n"
LARGEST = 64 * 1024 * 1024
"""A larger file (bytes) is none of ours."""
_DIGEST = hashlib.sha256().digest_size


class Kept:
    """Bytes by name in a folder, for one key; no method raises for what the disk does."""

    def __init__(self, folder: Path, key: bytes) -> None:
        self._folder = folder
        self._key = key

    @classmethod
    def of(cls, folder: Path, *made_of: bytes) -> "Kept | None":
        """For what is made of these by this program; None where its own code can't be read."""
        code = code_that_reads_it()
        if not code:
            return None
        digest = hashlib.sha256(code)
        for part in made_of:
            digest.update(len(part).to_bytes(8, "little") + part)
        return cls(folder, digest.digest())

    def read(self, name: str) -> bytes | None:
        """What was written under this name; None where that is not there, not whole, or of another key."""
        file = self._folder / name
        head = MAGIC + self._key
        try:
            if not file.is_file() or file.stat().st_size > LARGEST:
                return None
            raw = file.read_bytes()
        except OSError:
            return None
        if not raw.startswith(head):
            return None
        digest, data = raw[len(head) : len(head) + _DIGEST], raw[len(head) + _DIGEST :]
        return data if hashlib.sha256(data).digest() == digest else None

    def write(self, name: str, data: bytes) -> None:
        """Write under this name, whole or not at all; where it can't be written, the next start is slower."""
        with suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            with NamedTemporaryFile(dir=self._folder, prefix=f"{name}.", delete=False) as file:
                try:
                    file.write(MAGIC + self._key + hashlib.sha256(data).digest() + data)
                    # Not waited for until it is on the disk for good: after a power cut its digest tells.
                    file.close()
                    os.replace(file.name, self._folder / name)
                except OSError:
                    Path(file.name).unlink(missing_ok=True)
                    raise


@cache
def code_that_reads_it() -> bytes:
    """Digest of the code that makes a grammar of its file; empty where it can't be read."""
    folders = [*assistant.nlu.__path__, *assistant.batch.record.__path__]
    files = sorted(file for folder in folders for file in Path(folder).rglob("*.py"))
    digest = hashlib.sha256()
    try:
        for file in (*files, Path(assistant.batch.decide.slots.__file__), Path(assistant.ports.__file__)):
            digest.update(file.read_bytes())
    except OSError:
        return b""
    return digest.digest() if files else b""

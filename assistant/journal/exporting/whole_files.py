"""Files that are written whole or not at all, and never over another one unless that is wanted."""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from assistant.errors import JournalError


@contextmanager
def whole_files(files: Sequence[Path], *, force: bool) -> Iterator[list[Path]]:
    """Files to write in the place of these; when all are written they get their names, one by one.

    Raises JournalError (one line) where one is there already and `force` is false, or can't be written: then
    what was there is as it was.
    """
    for there in (one for one in files if one.exists() or one.is_symlink()):
        if not there.is_file():
            raise JournalError(f"{there}: it exists already; name another place.")
        if not force:
            raise JournalError(f"{there}: it exists already; name another place, or replace it with --force.")
    parts = [one.with_name(f".{one.name}.part") for one in files]
    try:
        files[0].parent.mkdir(parents=True, exist_ok=True)
        yield parts
        for part in parts:
            with part.open("rb+") as written:
                os.fsync(written.fileno())
        for part, file in zip(parts, files, strict=True):
            part.replace(file)
    except OSError as error:
        if isinstance(error, JournalError):
            raise
        raise JournalError(
            f"{files[0].parent} can't be written ({error.strerror}); make room or name another place."
        ) from None
    finally:
        for part in parts:
            with suppress(OSError):
                part.unlink(missing_ok=True)

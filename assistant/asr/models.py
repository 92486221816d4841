"""Fetch the small English Vosk model from its publisher, checked, resumable, all or nothing."""

import hashlib
import http.client
import os
import shutil
import stat
import urllib.error
import urllib.request
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from assistant.errors import ModelError

Progress = Callable[[int, int], None]
"""Called with the bytes that were fetched and the bytes of the whole."""

_BLOCK = 1 << 16
_TIMEOUT_S = 30.0


@dataclass(frozen=True, slots=True)
class PublishedModel:
    """A zipped model as its publisher offers it."""

    url: str
    size: int
    """Bytes."""
    sha256: str
    folder: str
    """The model's folder in the zip."""


SMALL_ENGLISH = PublishedModel(
    url="https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip",
    size=41_205_931,
    sha256="30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498",
    folder="vosk-model-small-en-us-0.15",
)
"""Apache-2.0. The size is the publisher's; a dozen public projects pin this digest for the file."""


def fetch_model(
    destination: Path, progress: Progress | None = None, model: PublishedModel = SMALL_ENGLISH
) -> Path:
    """Download and unpack a model into the folder `destination`; return the model's folder.

    What is there already is kept; a download that was cut off goes on where it stopped.
    Raises ModelError when there is no network, no room, or the file is not what was published.
    """
    folder = destination / model.folder
    if folder.is_dir():
        return folder
    archive = destination / f"{model.folder}.zip.part"
    try:
        destination.mkdir(parents=True, exist_ok=True)
        _download(model, archive, progress or _quiet)
        _check(model, archive)
        _unpack(model, archive, folder)
        archive.unlink()
    except zipfile.BadZipFile:
        archive.unlink(missing_ok=True)
        raise ModelError(f"{model.url} is not a zip file; {_by_hand(model, destination)}") from None
    except (urllib.error.URLError, http.client.HTTPException, TimeoutError) as error:
        reason = getattr(error, "reason", None) or error
        raise ModelError(f"The model can't be fetched ({reason}); {_by_hand(model, destination)}") from None
    except ModelError:
        raise
    except OSError as error:
        raise ModelError(
            f"The model can't be written to {destination} ({error.strerror or error}); choose a folder with "
            f"{model.size * 4 // 1_000_000} MB of room."
        ) from None
    return folder


def _quiet(_here: int, _whole: int) -> None:
    """Nobody watches."""


def _by_hand(model: PublishedModel, destination: Path) -> str:
    return f"with network elsewhere, download {model.url}, unpack it into {destination} and try again."


def _download(model: PublishedModel, archive: Path, progress: Progress) -> None:
    """Bring the file to its full size, starting from the bytes that are there."""
    here = archive.stat().st_size if archive.exists() else 0
    if here > model.size:
        archive.unlink()
        here = 0
    if here == model.size:
        return
    request = urllib.request.Request(model.url, headers={"Range": f"bytes={here}-"} if here else {})
    with urllib.request.urlopen(request, timeout=_TIMEOUT_S) as answer:
        # 206 is Partial Content (RFC 9110, 15.3.7); any other answer is the whole file again.
        resumed = here > 0 and answer.status == http.HTTPStatus.PARTIAL_CONTENT
        here = here if resumed else 0
        with archive.open("ab" if resumed else "wb") as file:
            while block := answer.read(_BLOCK):
                file.write(block)
                here += len(block)
                progress(here, model.size)
                if here > model.size:
                    break
    if here < model.size:
        raise ModelError(
            f"The download of the model broke off at {here} of {model.size} bytes; "
            "run it again to go on from there."
        )


def _check(model: PublishedModel, archive: Path) -> None:
    size = archive.stat().st_size
    with archive.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    if size != model.size or digest != model.sha256:
        archive.unlink()
        raise ModelError(
            f"{model.url} is not the file that was published ({size} bytes, SHA-256 {digest[:12]}...; "
            f"expected {model.size} and {model.sha256[:12]}...); it was thrown away. "
            "Try again later or from another network."
        )


def _unpack(model: PublishedModel, archive: Path, folder: Path) -> None:
    """Unpack under another name, then rename: a folder with the model's name is always complete."""
    staging = folder.with_name(f"{folder.name}.unpacking-{os.getpid()}")
    shutil.rmtree(staging, ignore_errors=True)
    try:
        with zipfile.ZipFile(archive) as packed:
            for entry in packed.infolist():
                _refuse_outside(entry, model)
            packed.extractall(staging)
        inside = staging / model.folder
        if not inside.is_dir():
            raise ModelError(f"{model.url} holds no folder {model.folder}; use another model.")
        inside.rename(folder)
    finally:
        shutil.rmtree(staging, ignore_errors=True)


def _refuse_outside(entry: zipfile.ZipInfo, model: PublishedModel) -> None:
    """A zip may name any path, or a link: nothing of it may land outside the model's folder."""
    path = PurePosixPath(entry.filename.replace("\\", "/"))
    link = stat.S_ISLNK(entry.external_attr >> 16)
    if path.is_absolute() or ".." in path.parts or link or path.parts[:1] != (model.folder,):
        raise ModelError(f"{model.url} would write outside its folder ({entry.filename}); use another model.")

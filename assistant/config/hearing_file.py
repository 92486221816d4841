"""What a hearing test found, in files of its own: the recogniser's limits, how a cook says the phones."""

import hashlib
import json
import os
import tomllib
from contextlib import suppress
from pathlib import Path
from urllib.parse import quote, unquote

import msgspec

from assistant.asr.adapting.confusions import Cook
from assistant.errors import SettingsError

FILE = "hearing.toml"
COOKS = "cooks"
"""Folder of the cooks, beside the settings."""
TAKE_AGAIN = "take crumbcall hearing-test again, or delete the file"
"""What to do about a cook's file."""


def write_hearing(settings_file: Path, act_above: float, cook: str, remark: str) -> Path:
    """Keep limits, and who was heard, where `Settings.load` of that settings file reads them.

    Returns the file's path. Raises SettingsError where it can't be written.
    """
    file = settings_file.parent / FILE
    text = f"# Found by crumbcall hearing-test. What settings.toml says counts more.\n# {remark}\n"
    text += f"[recogniser]\nact_above = {act_above:g}\n\n"
    text += f"[station]\ncook = {json.dumps(cook, ensure_ascii=False)}\n"
    _replaced(file, text)
    return file


def cook_file(settings_file: Path, cook: str) -> Path:
    """Where a cook's ways are kept; need not exist. Any name makes a name of a file."""
    return settings_file.parent / COOKS / f"{quote(cook, safe=' ')}.toml"


def known_cooks(settings_file: Path) -> list[str]:
    """Names of those with a file, sorted."""
    return sorted(unquote(file.stem) for file in (settings_file.parent / COOKS).glob("*.toml"))


def write_cook(file: Path, cook: Cook, remark: str) -> None:
    """Keep how a cook says the phones; whole, or as it was before. Raises SettingsError."""
    lines = [
        f"# {' '.join(remark.split())}",
        "# Symbols that a network writes where this cook says another, and how often.",
        "# Made by crumbcall hearing-test; without this file the cook is heard as anybody.",
    ]
    for network, shares in cook.items():
        lines += ["", f"[{_key(network)}]"]
        for phone, others in shares.items():
            told = ", ".join(f"{_key(other)} = {share:g}" for other, share in others.items())
            lines.append(f"{_key(phone)} = {{ {told} }}")
    body = "\n".join(lines) + "\n"
    _replaced(file, f"# {_digest(body)}\n{body}")


def read_cook(file: Path) -> Cook:
    """How a cook says the phones; nothing where there is no file. Raises SettingsError, one line."""
    try:
        text = file.read_bytes().decode("utf-8")
        head, _, body = text.partition("\n")
        if head != f"# {_digest(body)}":
            raise SettingsError(f"{file} is damaged or was changed by hand; {TAKE_AGAIN}.")
        return msgspec.convert(tomllib.loads(body), dict[str, dict[str, dict[str, float]]])
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise SettingsError(f"{file} can't be read ({error.strerror}); {TAKE_AGAIN}.") from None
    except ValueError:
        raise SettingsError(f"{file} is damaged or of another version; {TAKE_AGAIN}.") from None


def forget_cook(file: Path) -> None:
    """Delete a cook's file, if there is one. Raises SettingsError."""
    try:
        file.unlink(missing_ok=True)
    except OSError as error:
        raise SettingsError(f"{file} can't be deleted ({error.strerror}); delete it by hand.") from None


def _key(text: str) -> str:
    """A quoted key of TOML: of the signs that JSON escapes, it escapes them in the same way."""
    return json.dumps(text, ensure_ascii=False)


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()


def _replaced(file: Path, text: str) -> None:
    """Write a file; the one before is replaced whole or not at all."""
    new = file.with_name(f"{file.name}.new")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with new.open("w", encoding="utf-8") as written:
            written.write(text)
            written.flush()
            os.fsync(written.fileno())
        new.replace(file)
    except OSError as error:
        with suppress(OSError):
            new.unlink(missing_ok=True)
        raise SettingsError(
            f"{file} can't be written ({error.strerror}); make room or choose another --home."
        ) from None

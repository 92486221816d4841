"""Which screens may press: those at the station itself, and those that were paired by a code it shows.

The code stands on the page at the station for `OPEN_S`, from when a screen asks for it. A wrong code is
counted: after `TRIES` another one is shown. What a paired screen keeps is kept here only as its hash.
"""

import hashlib
import hmac
import json
import secrets
from collections.abc import Callable
from pathlib import Path

DIGITS = 6
OPEN_S = 180.0
"""How long a code counts (s)."""
TRIES = 5
"""Wrong codes before another is made."""
MOST_CODES = 6
"""Codes in an hour; then nobody is paired until the hour is over."""
HOUR_S = 3600.0
MOST_SCREENS = 20
COOKIE = "crumbcall-screen"


class Pairing:
    """The code of now, and the screens that are paired. `now`: time (s). `file`: where they are kept."""

    def __init__(self, now: Callable[[], float], file: Path | None = None) -> None:
        self._now = now
        self._file = file
        self._code = ""
        self._until = 0.0
        self._wrong = 0
        self._made: list[float] = []
        self._screens = self._read()

    @property
    def code(self) -> str:
        """The code that counts now; empty: none is asked for."""
        return self._code if self._now() < self._until else ""

    def ask(self) -> bool:
        """A screen wants to be paired: show a code. False where too many were made this hour."""
        if self.code:
            return True
        now = self._now()
        self._made = [at for at in self._made if now - at < HOUR_S]
        if len(self._made) >= MOST_CODES:
            return False
        self._made.append(now)
        self._code, self._until, self._wrong = f"{secrets.randbelow(10**DIGITS):0{DIGITS}}", now + OPEN_S, 0
        return True

    def pair(self, code: str) -> str | None:
        """What a screen keeps that sent the right code; None for a wrong one."""
        wanted = self.code
        if not wanted:
            return None
        if not hmac.compare_digest(code.encode(), wanted.encode()):
            self._wrong += 1
            if self._wrong >= TRIES:
                self._code = ""
                self.ask()
            return None
        self._code = ""
        token = secrets.token_urlsafe(32)
        self._screens = [*self._screens, _hash(token)][-MOST_SCREENS:]
        self._write()
        return token

    def knows(self, token: str) -> bool:
        """Whether a screen is paired that shows this."""
        found = _hash(token)
        return any(hmac.compare_digest(found, one) for one in self._screens)

    def _read(self) -> list[str]:
        if self._file is None:
            return []
        try:
            found = json.loads(self._file.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return []
        return [one for one in found if isinstance(one, str)] if isinstance(found, list) else []

    def _write(self) -> None:
        """Keep the paired screens; where the disk can't be written, they are paired until the next start."""
        if self._file is None:
            return
        new = self._file.with_suffix(".new")
        try:
            new.touch(mode=0o600)
            new.write_text(json.dumps(self._screens), encoding="utf-8")
            new.replace(self._file)
        except OSError:
            return


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()

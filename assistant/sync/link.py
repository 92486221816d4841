"""The connection to the group's server: its options, and each failure as one clear line."""

import ipaddress
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

from assistant.errors import SyncError
from assistant.sync.refusals import told_line

if TYPE_CHECKING:
    from psycopg import Connection

NEEDS = "The shared memory needs the extra sync; install it: .venv/bin/pip install 'crumbcall[sync]'"
PASSWORD_FILE = "group.pass"
SOCKETS = "/var/run/postgresql"
"""Folder of the server's sockets on Debian, where an address names no host."""
NEEDED_VERSION = 2
"""The step of the server's tables that this program needs; later ones only add."""


@dataclass(frozen=True, slots=True)
class Server:
    """Where the group's server is, and who this station is there."""

    host: str
    """Name, address or folder of sockets."""
    port: int
    database: str
    account: str
    certificate: Path | None = None
    """Of whoever signed the server's; None: those that this machine trusts."""
    password_file: Path | None = None
    """In the form of libpq's .pgpass; None: libpq's own place for it."""

    @classmethod
    def read(cls, address: str, certificate: str = "", folder: Path = Path()) -> "Server":
        """From the settings; paths are beside the settings file, in `folder`. Raises SyncError."""
        try:
            parts = urlsplit(address)
            port = parts.port or 5432
        except ValueError as error:
            raise _refused(address, str(error)) from None
        if parts.scheme != "postgresql" or parts.query or parts.fragment:
            raise _refused(_bare(address), "more, or less, than an address")
        if parts.password is not None:
            raise SyncError(
                "The address of the group's server has a password in it, which everybody would see; write it "
                f"into {folder / PASSWORD_FILE} as *:*:*:{parts.username or 'ACCOUNT'}:PASSWORD, chmod 600."
            )
        host, database = unquote(parts.hostname or ""), unquote(parts.path.lstrip("/"))
        if not database or not parts.username:
            raise _refused(_bare(address), "no account or no database")
        passwords = folder / PASSWORD_FILE
        return cls(
            host or SOCKETS,
            port,
            database,
            unquote(parts.username),
            (folder / Path(certificate).expanduser()).absolute() if certificate else None,
            passwords if passwords.exists() else None,
        )

    @property
    def is_here(self) -> bool:
        """Whether it is on this machine: a socket, or the machine's own address."""
        if self.host.startswith("/") or self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False

    def options(self) -> dict[str, str | int]:
        """What libpq gets. Outside of this machine the server's certificate is always checked."""
        checked = not self.is_here or self.certificate is not None
        found: dict[str, str | int] = {
            "host": self.host,
            "port": self.port,
            "dbname": self.database,
            "user": self.account,
            "sslmode": "verify-full" if checked and not self.host.startswith("/") else "prefer",
            "connect_timeout": 10,
            # A network that is gone says nothing: without these a station would wait for hours.
            "keepalives_idle": 20,
            "keepalives_interval": 5,
            "keepalives_count": 3,
            "tcp_user_timeout": 30_000,
            "application_name": "crumbcall",
        }
        if checked:
            found["sslrootcert"] = "system" if self.certificate is None else str(self.certificate)
        if self.password_file is not None:
            found["passfile"] = str(self.password_file)
        return found

    @property
    def name(self) -> str:
        """How a line calls it."""
        return f"{self.database} at {self.host}"


def _refused(address: str, found: str) -> SyncError:
    return SyncError(
        f"[sync] server = {address!r}: {found}; allowed is postgresql://ACCOUNT@HOST/DATABASE, write it so."
    )


def _bare(address: str) -> str:
    """An address without what may be a password."""
    head, at, tail = address.rpartition("@")
    return f"{head.split('://')[0]}://...@{tail}" if at and ":" in head.split("://")[-1] else address


def check_extra() -> None:
    """Raise SyncError, one line with what to do, where the library is not installed."""
    if find_spec("psycopg") is None:
        raise SyncError(NEEDS)


def connect(server: Server) -> "Connection[tuple[object, ...]]":
    """A connection that commits when it is told to. Raises SyncError, one line."""
    check_extra()
    import psycopg
    from psycopg.conninfo import make_conninfo

    if server.password_file is not None and server.password_file.stat().st_mode & 0o077:
        raise SyncError(
            f"{server.password_file} may be read by others, so the password in it is not used; "
            f"chmod 600 {server.password_file}"
        )
    with told(server):
        link = psycopg.connect(make_conninfo("", **server.options()))
        try:
            link.execute("SET statement_timeout = '60s'")
            link.execute("SET lock_timeout = '20s'")
            link.execute("SET idle_in_transaction_session_timeout = '60s'")
            link.commit()
        except BaseException:
            link.close()
            raise
    return link


@contextmanager
def told(server: Server) -> Iterator[None]:
    """Turn what the library raises into one clear line: what was found, and what to do."""
    import psycopg

    try:
        yield
    except psycopg.Error as error:
        line = told_line(
            str(error),
            error.sqlstate,
            account=server.account,
            database=server.database,
            passwords=str(server.password_file or PASSWORD_FILE),
        )
        raise SyncError(f"The group's server, {server.name}: {line}. This station goes on alone.") from error

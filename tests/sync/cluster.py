"""A real PostgreSQL for the tests: a cluster of its own, on 127.0.0.1 and a free port."""

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from pathlib import Path

import psycopg

OWNER = "keeper"
"""The account that owns the cluster."""


class NoPostgresError(Exception):
    """Its programs are not installed."""


def programs() -> Path:
    """Folder of initdb and pg_ctl: the newest that Debian has, else wherever they are found."""
    found = sorted(
        (path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")),
        key=lambda path: float(path.parent.name),
    )
    if found:
        return found[-1]
    if (initdb := shutil.which("initdb")) is None:
        raise NoPostgresError("PostgreSQL is not installed; these tests need it: apt-get install postgresql")
    return Path(initdb).parent


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as held:
        return int(held.getsockname()[1])


class Cluster:
    """A PostgreSQL that can be stopped and started again. Its owner logs in without a password."""

    def __init__(self, *settings: str) -> None:
        self._bin = programs()
        # Not in pytest's own folder: that is its user's alone.
        self.folder = Path(tempfile.mkdtemp(prefix="crumbcall-postgres-"))
        self.data = self.folder / "data"
        self.port = free_port()
        self._settings = settings
        # PostgreSQL does not run as root: then it runs as the nobody of the system.
        self._user = pwd.getpwnam("nobody") if os.geteuid() == 0 else None
        if self._user is not None:
            os.chown(self.folder, self._user.pw_uid, self._user.pw_gid)
        self._run(
            "initdb", "--pgdata", str(self.data), "--username", OWNER, "--auth", "trust", "--no-sync",
            "--encoding", "UTF8", "--locale", "C",
        )  # fmt: skip
        # Stations come with a password, the owner without.
        self.let_in(f"host all {OWNER} 127.0.0.1/32 trust", "host all all 127.0.0.1/32 scram-sha-256")
        self.start()

    def let_in(self, *lines: str) -> None:
        """Write who may come in, the first line that fits counts."""
        (self.data / "pg_hba.conf").write_text("".join(f"{line}\n" for line in lines))

    def start(self) -> None:
        # It need not outlive the machine: an immediate stop loses nothing without fsync either.
        options = (f"port={self.port}", "fsync=off", "listen_addresses=127.0.0.1", "unix_socket_directories=",
                   "max_wal_size=4GB", "max_connections=60", *self._settings)  # fmt: skip
        self._ctl("start", "-o", " ".join(f"-c {one}" for one in options))

    def stop(self) -> None:
        """At once, connections or not."""
        self._ctl("stop", "-m", "immediate")

    def run(self, *statements: str, database: str = "postgres") -> list[tuple[object, ...]]:
        """Run statements as the owner; the rows of the last."""
        address = f"postgresql://{OWNER}@127.0.0.1:{self.port}/{database}"
        with psycopg.connect(address, autocommit=True) as link:
            for statement in statements:
                found = link.execute(statement.encode())
            return found.fetchall() if found.description else []

    def use_tls(self, certificate: Path, key: Path) -> None:
        """From the next start on, with this certificate and its key."""
        for file, name in ((certificate, "server.crt"), (key, "server.key")):
            copied = Path(shutil.copy(file, self.data / name))
            copied.chmod(0o600)
            if self._user is not None:
                os.chown(copied, self._user.pw_uid, self._user.pw_gid)
        self._settings += ("ssl=on",)

    def remove(self) -> None:
        """Stop it, and leave nothing of it."""
        self.stop()
        shutil.rmtree(self.folder)

    def _ctl(self, *arguments: str) -> None:
        self._run("pg_ctl", "--pgdata", str(self.data), "--wait", "--silent", "--log",
                  str(self.folder / "log"), *arguments)  # fmt: skip

    def _run(self, program: str, *arguments: str) -> None:
        run_as = self._user.pw_uid if self._user is not None else None
        done = subprocess.run(
            [str(self._bin / program), *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            cwd="/",
            check=False,
            env={**os.environ, "LC_ALL": "C"},
            user=run_as,
            group=self._user.pw_gid if self._user is not None else None,
            extra_groups=[] if self._user is not None else None,
        )
        if done.returncode:
            raise RuntimeError(f"{program}: {done.stdout}")

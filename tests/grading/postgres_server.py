"""A PostgreSQL server of the tests' own: Debian's package, a folder of its own, gone afterwards.

It listens on loopback alone, on a free port, and asks for a password. PostgreSQL refuses to run as
root, so it runs as the user that Debian's package made for it.
"""

from __future__ import annotations

import os
import secrets
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
from psycopg import sql

USER = "postgres"
OWNER = "lengthwise"


@dataclass(frozen=True)
class PostgresServer:
    """A running server: where it listens, and how to get into it."""

    port: int
    password: str

    def url(self, database: str, driver: str = "postgresql+psycopg") -> str:
        """The address of a database, as SQLAlchemy (and so nbgrader) writes it."""
        return f"{driver}://{OWNER}:{self.password}@127.0.0.1:{self.port}/{database}"

    def make_database(self, name: str) -> str:
        """Make an empty database and return its address."""
        with psycopg.connect(self.url("postgres", "postgresql"), autocommit=True) as connection:
            connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        return self.url(name)


def programs() -> Path:
    """The folder of the newest PostgreSQL installed: Debian keeps it off the path."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=_version)
    if not found:
        raise RuntimeError("no PostgreSQL here; on Debian: apt install postgresql")
    return found[-1].parent


def _version(initdb: Path) -> float:
    return float(initdb.parts[-3])


@contextmanager
def postgres_server() -> Iterator[PostgresServer]:
    """Start a server on an empty folder; stop it and remove the folder afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="lengthwise-pg-"))
    password = secrets.token_hex(16)
    (folder / "password").write_text(password, encoding="ascii")
    if os.geteuid() == 0:
        for path in (folder, folder / "password"):
            shutil.chown(path, USER, USER)
    try:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = int(probe.getsockname()[1])
        data = folder / "data"
        _run(
            *("initdb", "--pgdata", data, "--username", OWNER, "--pwfile", folder / "password"),
            *("--auth=scram-sha-256", "--encoding=UTF8", "--locale=C", "--no-sync"),
        )
        # What is lost when the machine goes down is not missed here: it need not reach the disk.
        settings = f"-h 127.0.0.1 -p {port} -k {folder} -c fsync=off -c max_connections=60"
        log = folder / "log"
        _run("pg_ctl", "start", "--wait", "--pgdata", data, "--log", log, "--options", settings)
        try:
            yield PostgresServer(port, password)
        finally:
            _run("pg_ctl", "stop", "--wait", "--pgdata", data, "--mode=fast")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(program: str, *arguments: str | Path) -> None:
    # A server keeps what it is given open, so nothing of it may be a pipe that somebody reads.
    with tempfile.TemporaryFile() as said:
        done = subprocess.run(
            [str(programs() / program), *map(str, arguments)],
            cwd="/",
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=subprocess.STDOUT,
            user=USER if os.geteuid() == 0 else None,
            group=USER if os.geteuid() == 0 else None,
            extra_groups=[] if os.geteuid() == 0 else None,
            check=False,
        )
        said.seek(0)
        if done.returncode:
            raise RuntimeError(f"{program} failed: {said.read().decode(errors='replace')}")

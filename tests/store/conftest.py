"""A store on each database that can hold one: SQLite in a folder, and a PostgreSQL server of the tests' own."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from fieldfare.store.store import Store, open_store

Run = Callable[..., None]
_NUMBERS = count(1)


def _binaries() -> Path | None:
    """Find the newest PostgreSQL server of this machine: on the path, or where Debian puts it."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    debian = Path("/usr/lib/postgresql")
    homes = [home for home in debian.glob("*/bin") if (home / "initdb").is_file()]
    return max(homes, key=lambda home: int(home.parent.name.split(".")[0]), default=None)


def _runner(folder: Path) -> Run:
    """Run a server program as somebody who is not root, whom it would refuse."""
    user = "nobody" if hasattr(os, "geteuid") and os.geteuid() == 0 else None
    if user:
        shutil.chown(folder, user)

    def run(*words: object) -> None:
        done = subprocess.run(
            [str(word) for word in words],
            user=user,
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
        assert done.returncode == 0, f"{words[0]}: {done.stdout}{done.stderr}"

    return run


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """The folder of the socket of a running server, which is taken down afterwards."""
    home = _binaries()
    if home is None:
        pytest.skip("no PostgreSQL server on this machine: install it (Debian: postgresql) to run this test")
    folder = Path(tempfile.mkdtemp(prefix="fieldfare-pg-", dir="/tmp"))  # short: a socket's path may have 107 bytes
    folder.chmod(0o755)
    run = _runner(folder)
    data = folder / "data"
    try:
        run(home / "initdb", "-D", data, "-A", "trust", "-U", "tester", "-E", "UTF8", "--locale=C", "--no-sync")
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off -c max_connections=60"
        run(home / "pg_ctl", "-D", data, "-l", folder / "log", "-o", options, "-w", "start")
        yield str(folder)
        run(home / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty database, of either kind."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'fieldfare.sqlite'}"
    socket = request.getfixturevalue("postgresql")
    name = f"store{next(_NUMBERS)}"
    server = create_engine(f"postgresql+psycopg://tester@/postgres?host={socket}", isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    server.dispose()
    return f"postgresql://tester@/{name}?host={socket}"


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    """An open store, of either kind."""
    with open_store(url) as opened:
        yield opened

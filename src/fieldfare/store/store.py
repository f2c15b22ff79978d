"""Opening a store: SQLite in the show's folder, or PostgreSQL by its URL; brought up to date as it is opened."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy import create_engine, event, inspect, text
from sqlalchemy.engine import URL, Connection, Engine, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError

from fieldfare.store.tables import VERSION_TABLE
from fieldfare.units.faults import Fault, NotDone

if TYPE_CHECKING:
    from alembic.config import Config

STORE_FILE = "fieldfare.sqlite"
NEWEST = "0001"  # the version that the migrations lead to
PATIENCE_S = 30  # how long to wait for another program that is writing

_LOCK = 0x66_69_65_6C_64  # of PostgreSQL's advisory locks, the one by which our writers take turns
_DRIVERS = {"postgresql": "postgresql+psycopg", "postgres": "postgresql+psycopg"}


@dataclass(frozen=True, slots=True)
class Store:
    """An open store. Close it, or use it in a ``with`` block."""

    engine: Engine
    where: str  # for faults; without the password

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, trouble: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def url_of(folder: Path) -> URL:
    """Return the URL of the store that lies in a show's folder."""
    return URL.create("sqlite", database=str(folder / STORE_FILE))


def open_store(url: str | URL) -> Store:
    """Open a store, make it where it is not there yet, and bring it up to date.

    Parameters
    ----------
    url
        ``sqlite:///path/to/file`` or ``postgresql://user@host/database``.

    Raises
    ------
    Fault
        The URL is not one of a database that can be used.
    NotDone
        The database cannot be opened, or was written by a newer program; nothing was changed.
    """
    parsed = _parsed(url)
    where = parsed.database if parsed.drivername == "sqlite" and parsed.database else parsed.render_as_string()
    store = Store(_engine(parsed), where)
    try:
        with told(where):
            _bring_up_to_date(store)
    except NotDone:
        store.close()
        raise
    return store


@contextmanager
def reading(store: Store) -> Iterator[Connection]:
    """Give a connection to read by, and put what goes wrong in one sentence."""
    with told(store.where), store.engine.begin() as connection:
        yield connection


@contextmanager
def writing(store: Store) -> Iterator[Connection]:
    """Give a connection to write by: writers take turns, and what one of them does is done whole or not at all."""
    with told(store.where), store.engine.execution_options(writes=True).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        yield connection


@contextmanager
def told(where: str) -> Iterator[None]:
    """Turn what a database says into one sentence for a person."""
    try:
        yield
    except SQLAlchemyError as trouble:
        said = " ".join(str(getattr(trouble, "orig", None) or trouble).split("\n")[0].split())
        remedy = next((remedy for part, remedy in _REMEDIES if part in said), "put that right and try again")
        raise NotDone(f"the database says: {said}", where, remedy) from None


_REMEDIES = (
    ("locked", "another program holds it; close that and try again"),
    ("readonly", "the folder or the file may not be written to; check its rights"),
    ("unable to open", "check that the folder is there and may be written to"),
    ("not a database", f"move that file away if it is not a store; {STORE_FILE} is made anew"),
    ("full", "make room on the disc and try again"),
    ("connection", "check that the database server runs and the URL is right"),
    ("does not exist", "make the database on the server first"),
)


def _parsed(url: str | URL) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError:
        right = "write sqlite:///path/to/file or postgresql://user@host/database"
        raise Fault("this is not the URL of a database", "the store", right) from None
    name = _DRIVERS.get(parsed.drivername, parsed.drivername)
    if name not in ("sqlite", "postgresql+psycopg"):
        raise Fault(f"{parsed.drivername} is not a database that can be used", "the store", "use sqlite or postgresql")
    return parsed.set(drivername=name)


def _engine(url: URL) -> Engine:
    options: dict[str, Any] = {"connect_args": {"timeout": PATIENCE_S}} if url.drivername == "sqlite" else {}
    try:
        engine = create_engine(url, **options)
    except (ModuleNotFoundError, NoSuchModuleError):
        raise NotDone(
            "the driver for PostgreSQL is not installed", "the store", 'install "fieldfare[postgres]"'
        ) from None
    if url.drivername == "sqlite":
        event.listen(engine, "connect", _own_transactions)
        event.listen(engine, "begin", _begin)
    return engine


def _own_transactions(connection: Any, record: object) -> None:
    """Keep the driver from opening transactions of its own: it would not include changes of the tables."""
    connection.isolation_level = None


def _begin(connection: Connection) -> None:
    """Take a writer's turn at once: two that began as readers could never both go on."""
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _version(connection: Connection) -> str:
    if not inspect(connection).has_table(VERSION_TABLE):
        return ""
    found = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    return str(found or "")


def _bring_up_to_date(store: Store) -> None:
    with reading(store) as connection:
        if _version(connection) == NEWEST:
            return
    from alembic import command

    with writing(store) as connection:  # whoever comes second waits here, and then finds the work done
        version = _version(connection)
        if version > NEWEST:
            raise NotDone(f"the store is of version {version}", store.where, "use the newer fieldfare that wrote it")
        if version < NEWEST:
            command.upgrade(migrations(connection), "head")


def migrations(connection: Connection | None = None) -> Config:
    """Return what the migrations need to know: where they lie, and the connection to run on."""
    from alembic.config import Config

    config = Config()
    folder = Path(__file__).parent / "migrations"
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config

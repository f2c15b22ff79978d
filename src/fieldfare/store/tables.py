"""The two tables: revisions of documents, and events. Rows are only ever added; the database itself refuses more."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    DateTime,
    Dialect,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.types import TypeDecorator

METADATA = MetaData()
VERSION_TABLE = "fieldfare_version"


class Moment(TypeDecorator[dt.datetime]):
    """A moment in time: kept in UTC, and read back as such on every database."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        """Turn a moment of any zone into UTC."""
        if value is None or dialect.name == "postgresql":
            return value
        return value.astimezone(dt.UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> dt.datetime | None:
        """Say that what was kept is UTC."""
        if value is None:
            return None
        moment: dt.datetime = value
        return moment.astimezone(dt.UTC) if moment.tzinfo else moment.replace(tzinfo=dt.UTC)


_COUNTED = BigInteger().with_variant(Integer(), "sqlite")  # SQLite counts up only what it calls INTEGER

REVISIONS = Table(
    "fieldfare_revision",
    METADATA,
    Column("id", _COUNTED, primary_key=True),
    Column("kind", String(40), nullable=False),
    Column("name", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("digest", String(64), nullable=False),
    Column("body", JSON, nullable=False),
    Column("saved_at", Moment, nullable=False),
    UniqueConstraint("kind", "name", "number"),
)

EVENTS = Table(
    "fieldfare_event",
    METADATA,
    Column("number", _COUNTED, primary_key=True, comment="order of arrival"),
    Column("id", Text, nullable=False, unique=True, comment="given by the device"),
    Column("device", Text, nullable=False),
    Column("show", Text, nullable=False, index=True),
    Column("kind", String(40), nullable=False),
    Column("about", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("received_at", Moment, nullable=False),
)

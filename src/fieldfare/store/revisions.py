"""Revisions: every save of a changed document is a new one, with a number and a letter; none is ever overwritten."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from fieldfare.store.store import Store, reading, writing
from fieldfare.store.tables import REVISIONS


@dataclass(frozen=True, slots=True)
class Revision:
    """A document as it was saved."""

    kind: str
    name: str
    number: int  # from 1
    letter: str  # A, B, … Z, AA: what the sheets carry
    digest: str  # SHA-256, hexadecimal
    body: dict[str, Any]
    saved_at: dt.datetime  # UTC


def letter_of(number: int) -> str:
    """Return the letter of a revision by its number, from 1.

    >>> [letter_of(number) for number in (1, 2, 26, 27, 52, 53, 702, 703)]
    ['A', 'B', 'Z', 'AA', 'AZ', 'BA', 'ZZ', 'AAA']
    """
    letters = ""
    while number > 0:
        number, place = divmod(number - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def save_revision(store: Store, kind: str, name: str, body: Mapping[str, Any], digest: str = "") -> Revision:
    """Save a document where it differs from its latest revision; else return that.

    Parameters
    ----------
    store
        The open store.
    kind, name
        Which document: ``"show"`` and its title.
    body
        All of it, as JSON allows.
    digest
        SHA-256 of what it says, in hexadecimal; made from the body where blank.

    Raises
    ------
    NotDone
        The database refused; nothing was changed.
    """
    digest = digest or sha256(json.dumps(body, sort_keys=True, separators=(",", ":")).encode()).hexdigest()
    with writing(store) as connection:
        before = _last(connection, kind, name)
        if before is not None and before["digest"] == digest:
            return _revision(before)
        row = {
            "kind": kind,
            "name": name,
            "number": before["number"] + 1 if before is not None else 1,
            "digest": digest,
            "body": dict(body),
            "saved_at": dt.datetime.now(dt.UTC),
        }
        connection.execute(REVISIONS.insert().values(row))
    return _revision(row)


def latest(store: Store, kind: str, name: str) -> Revision | None:
    """Return the latest revision of a document; None where it was never saved."""
    with reading(store) as connection:
        row = _last(connection, kind, name)
    return None if row is None else _revision(row)


def history(store: Store, kind: str, name: str, *, bodies: bool = True) -> tuple[Revision, ...]:
    """Return all revisions of a document, the first one first.

    Parameters
    ----------
    store
        The open store.
    kind, name
        Which document.
    bodies
        Whether to fetch what each of them says; their bodies are empty otherwise.
    """
    columns = [column for column in REVISIONS.c if bodies or column.name != "body"]
    of_it = (REVISIONS.c.kind == kind) & (REVISIONS.c.name == name)
    with reading(store) as connection:
        rows = connection.execute(select(*columns).where(of_it).order_by(REVISIONS.c.number)).mappings().all()
    return tuple(_revision(row if bodies else {**row, "body": {}}) for row in rows)


def revision(store: Store, kind: str, name: str, number: int) -> Revision | None:
    """Return one revision of a document by its number; None where there is none."""
    wanted = (REVISIONS.c.kind == kind) & (REVISIONS.c.name == name) & (REVISIONS.c.number == number)
    with reading(store) as connection:
        row = connection.execute(select(REVISIONS).where(wanted)).mappings().first()
    return None if row is None else _revision(row)


def _last(connection: Connection, kind: str, name: str) -> RowMapping | None:
    of_it = (REVISIONS.c.kind == kind) & (REVISIONS.c.name == name)
    return (
        connection.execute(select(REVISIONS).where(of_it).order_by(REVISIONS.c.number.desc()).limit(1))
        .mappings()
        .first()
    )


def _revision(row: RowMapping | Mapping[str, Any]) -> Revision:
    number = int(row["number"])
    return Revision(row["kind"], row["name"], number, letter_of(number), row["digest"], row["body"], row["saved_at"])

"""Numbers without gaps: each paper gets the next one and is kept as it was issued, in one step; none ever changes.

They are kept as revisions of a series: the number is that of the revision, which the database counts and guards.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

from sqlalchemy import func, select

from fieldfare.store.revisions import Revision, letter_of
from fieldfare.store.store import Store, reading, writing
from fieldfare.store.tables import REVISIONS

Make = Callable[[int], Mapping[str, Any]]


def issue(store: Store, kind: str, series: str, make: Make) -> Revision:
    """Take the next number of a series and keep the paper that bears it; if that fails the number is not taken.

    Parameters
    ----------
    store
        The open store.
    kind, series
        Which series: ``"invoice"``, and what its numbers begin with.
    make
        Gives the whole paper, as JSON allows, for its number.

    Raises
    ------
    NotDone
        The database refused; no number was taken.
    """
    of_it = (REVISIONS.c.kind == kind) & (REVISIONS.c.name == series)
    with writing(store) as connection:
        number = int(connection.execute(select(func.max(REVISIONS.c.number)).where(of_it)).scalar() or 0) + 1
        body = dict(make(number))
        text = json.dumps(body, sort_keys=True, separators=(",", ":"))
        row: dict[str, Any] = {
            "kind": kind,
            "name": series,
            "number": number,
            "digest": sha256(text.encode()).hexdigest(),
            "body": body,
            "saved_at": dt.datetime.now(dt.UTC),
        }
        connection.execute(REVISIONS.insert().values(row))
    return Revision(kind, series, number, letter_of(number), row["digest"], body, row["saved_at"])


def series_of(store: Store, kind: str) -> tuple[str, ...]:
    """Return the series of a kind of paper, in the order in which they were begun."""
    begun = func.min(REVISIONS.c.id)
    wanted = select(REVISIONS.c.name).where(REVISIONS.c.kind == kind).group_by(REVISIONS.c.name).order_by(begun)
    with reading(store) as connection:
        return tuple(connection.execute(wanted).scalars())

"""Documents beside the show, such as its songs: every version is a revision of its own, and each step can be undone."""

from __future__ import annotations

import json
from typing import Literal, TypeVar

from pydantic import ValidationError

from fieldfare.show.record import Record
from fieldfare.store.revisions import history, revision, save_revision
from fieldfare.store.store import Store
from fieldfare.store.undo import Steps, steps
from fieldfare.units.faults import Fault

Way = Literal["undo", "redo"]
Document = TypeVar("Document", bound=Record)


def steps_of(store: Store, kind: str, name: str, now: Record) -> Steps:
    """Tell what undo and redo of a document lead to; as it stands, it becomes its latest revision.

    Parameters
    ----------
    store
        The show's store.
    kind, name
        Which document: ``"songs"`` and the show's title.
    now
        What it says, whoever changed it: a person on a page or in the file, or long work.

    Raises
    ------
    NotDone
        The database refused.
    """
    save_revision(store, kind, name, now.model_dump(mode="json"))
    return steps(history(store, kind, name, bodies=False))


def stepped(store: Store, kind: str, name: str, now: Document, way: Way) -> Document:
    """Return what a document said one step back, or forward again.

    Raises
    ------
    Fault
        There is no such step, or another version of the program saved it.
    """
    told = steps_of(store, kind, name, now)
    to = told.back if way == "undo" else told.forward
    found = revision(store, kind, name, to.number) if to else None
    if found is None:
        raise Fault(f"there is nothing to {way}", name, "every step stands on its page")
    try:
        return type(now).model_validate_json(json.dumps(found.body))
    except ValidationError:
        what = f"version {found.letter} was saved by another version of the program, which says things otherwise"
        raise Fault(what, name, "set by hand what is to be otherwise") from None

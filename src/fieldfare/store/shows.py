"""Shows as they are kept: all documents of one together, a revision each time that one of them has changed."""

from __future__ import annotations

import json

from fieldfare.show.toml import ShowFolder
from fieldfare.store.revisions import save_revision
from fieldfare.store.store import Store

KIND = "show"  # of its revisions


def save_show(store: Store, read: ShowFolder) -> str:
    """Save a show's documents as a revision and return its letter; unchanged documents keep theirs.

    Raises
    ------
    NotDone
        The database refused.
    """
    body = {
        "show": read.show.model_dump(mode="json"),
        "venue": read.venue.model_dump(mode="json"),
        "kit": read.kit.model_dump(mode="json"),
        **({"recipes": json.loads(json.dumps(read.recipes, default=str))} if read.recipes else {}),
    }
    return save_revision(store, KIND, read.show.title, body, read.digest).letter

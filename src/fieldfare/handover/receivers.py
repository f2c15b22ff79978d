"""Who gets what: our receivers, and those that a show brings in its folder receivers/."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from fieldfare.show.receiver import Receiver
from fieldfare.show.wording import validated
from fieldfare.show.written import read_toml
from fieldfare.units.faults import BadDocuments, Blemish, Fault
from fieldfare.units.text import listed, nearest

FOLDER = "receivers"
_OURS = Path(__file__).parent / FOLDER


def receivers(folder: Path) -> dict[str, Receiver]:
    """Return every receiver by name; one of the show's own counts for more than ours of the same name.

    Raises
    ------
    BadDocuments
        Every fault of the show's own files.
    """
    return {one.name: one for one in (*_read(_OURS), *_read(folder / FOLDER))}


def receiver(folder: Path, name: str) -> Receiver:
    """Return the receiver of a name.

    Raises
    ------
    Fault
        There is none.
    """
    known = receivers(folder)
    if name not in known:
        near = nearest(name, known)
        remedy = f"did you mean {near}?" if near else f"there are {listed(known)}"
        raise Fault(f"no receiver is called {name!r}", "the command", remedy)
    return known[name]


def _read(folder: Path) -> Iterable[Receiver]:
    read: list[Receiver] = []
    faults: list[Blemish] = []
    for path in sorted(folder.glob("*.toml")):
        found, said = validated(read_toml(path), Receiver)
        faults += said
        if found is not None:
            read.append(found)
    if faults:
        raise BadDocuments(tuple(faults))
    return read

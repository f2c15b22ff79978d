"""A show's recordings as its pages need them: takes with all tracks on one axis, found once."""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path
from threading import Lock

from fieldfare.desk.book import Book
from fieldfare.plan.drawn import drawn_inputs
from fieldfare.plan.recipes import show_recipes
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.offload.kept import REPORT, TAKES, copies_of

KEPT = 4
_FOUND: OrderedDict[tuple[Path, int, str], tuple[Axis, ...]] = OrderedDict()
_LOCK = Lock()


def axes_of(book: Book) -> tuple[Axis, ...]:
    """Return the takes that were offloaded, each with all its tracks on one axis.

    Raises
    ------
    Fault
        Nothing was offloaded yet, or none of the places is there.
    """
    now = book.open()
    folder = copies_of(book.folder, now.plan)
    key = (folder, (book.folder / TAKES / REPORT).stat().st_mtime_ns, now.read.digest)
    with _LOCK:
        if key not in _FOUND:
            _FOUND[key] = find_axes(folder, drawn_inputs(now.read, now.plan, show_recipes(book.folder)))
            while len(_FOUND) > KEPT:
                _FOUND.popitem(last=False)
        return _FOUND[key]

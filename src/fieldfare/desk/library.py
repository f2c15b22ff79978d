"""The shows that the desk knows: those in its folder, by the names of their folders. No other path is ever opened."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldfare.show.new import new_show
from fieldfare.show.toml import SHOW_FILE
from fieldfare.units.faults import Fault
from fieldfare.units.text import nearest, slug


@dataclass(frozen=True, slots=True)
class Listed:
    """A show's folder."""

    key: str  # its name in addresses
    folder: Path


def find_shows(root: Path) -> tuple[Listed, ...]:
    """List the shows of a folder: itself where it is a show, else its own folders that are, by name."""
    if (root / SHOW_FILE).is_file():
        return (Listed(root.resolve().name or "show", root),)
    inside = sorted(one for one in root.iterdir() if one.is_dir() and (one / SHOW_FILE).is_file())
    return tuple(Listed(one.name, one) for one in inside)


def find_show(root: Path, key: str) -> Path:
    """Return the folder of a show by its name in addresses.

    Raises
    ------
    Fault
        There is no such show.
    """
    known = {one.key: one.folder for one in find_shows(root)}
    if key not in known:
        near = nearest(key, known)
        raise Fault("there is no such show", key[:80], f"did you mean {near}?" if near else "the list has them all")
    return known[key]


def add_show(root: Path, title: str) -> Listed:
    """Make a folder for a new show.

    Raises
    ------
    Fault
        The title gives no name for a folder, or the folder holds one show only.
    NotDone
        There is such a folder already.
    """
    name = slug(title)[:80]
    if not name:
        raise Fault("a show needs a title", "new show", "write the band's or the night's name")
    if (root / SHOW_FILE).is_file():
        raise Fault("this desk was opened over a single show", str(root), "open it over the folder of all shows")
    new_show(root / name)
    return Listed(name, root / name)

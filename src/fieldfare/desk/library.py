"""The shows that the desk knows: those in its folder, by the names of their folders. No other path is ever opened."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from fieldfare.show.edit_toml import with_values
from fieldfare.show.files import write_whole
from fieldfare.show.new import new_show
from fieldfare.show.toml import SHOW_FILE, read_show, seen_from
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


@dataclass(frozen=True, slots=True)
class Begun:
    """What a new show begins with."""

    title: str
    date: dt.date
    venue_like: str = ""  # key of a show whose venue it is
    kit_of: str = ""  # key of a show whose kit it uses
    venue: Mapping[tuple[str | int, ...], object] = field(default_factory=dict)  # of a new one, by place in its file


def add_show(root: Path, begun: Begun) -> Listed:
    """Make a folder for a new show, with commented files that say what is known.

    Raises
    ------
    BadDocuments, Fault
        The title gives no name for a folder, something is blank that a plan cannot do without, or the desk was opened
        over a single show. Nothing was made.
    NotDone
        There is such a folder already.
    """
    name = slug(begun.title)[:80]
    if not name:
        raise Fault("a show needs a title", "new show", "write the band's or the night's name")
    if (root / SHOW_FILE).is_file():
        raise Fault("this desk was opened over a single show", str(root), "open it over the folder of all shows")
    folder = root / name
    like = find_show(root, begun.venue_like) if begun.venue_like else None
    lender = find_show(root, begun.kit_of) if begun.kit_of else None
    made = new_show(folder)
    try:
        _fill(folder, begun, like, lender)
        read_show(folder)
    except (Fault, OSError):
        for file in made:
            file.unlink(missing_ok=True)
        folder.rmdir()
        raise
    return Listed(name, folder)


def _fill(folder: Path, begun: Begun, like: Path | None, lender: Path | None) -> None:
    show: dict[tuple[str | int, ...], object] = {("title",): begun.title.strip(), ("date",): begun.date}
    if lender:
        kits = [lender / name for name in read_show(lender).show.kit]
        show[("kit",)] = [seen_from(folder, kit) for kit in kits]
        (folder / "kit.toml").unlink()
    _write(folder / SHOW_FILE, show)
    if like:
        write_whole(folder / "venue.toml", (like / read_show(like).show.venue).read_bytes(), replace=True)
    else:
        _write(folder / "venue.toml", begun.venue)


def _write(file: Path, values: Mapping[tuple[str | int, ...], object]) -> None:
    write_whole(file, with_values(file.read_text("utf-8"), values).encode(), replace=True)

"""A show's folder to begin with: three commented files, in which what nobody knows yet is left blank."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from fieldfare.show.files import write_whole
from fieldfare.units.faults import NotDone
from fieldfare.units.text import printable

NAMES = ("show.toml", "venue.toml", "kit.toml")


def new_show(folder: Path) -> tuple[Path, ...]:
    """Make a show's folder with its show, venue and kit to fill in.

    Nothing in them is invented: the folder gives the title, and reading the fresh folder names every blank that a plan
    cannot do without.

    Parameters
    ----------
    folder
        The folder to make; where it is there already it must be empty.

    Returns
    -------
    The files, the show's first.

    Raises
    ------
    NotDone
        There is something in the folder, or it cannot be made; nothing was changed.
    """
    if folder.exists() and not folder.is_dir():
        raise NotDone("is a file", str(folder), "choose another name for the folder")
    if folder.is_dir() and any(folder.iterdir()):
        raise NotDone("there is something in this folder", str(folder), "choose a new or an empty one")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as trouble:
        why = (trouble.strerror or "the system refused").lower()
        raise NotDone(f"cannot be made: {why}", str(folder), "choose another place") from None
    made: list[Path] = []
    try:
        for name in NAMES:
            write_whole(folder / name, _text(name, folder).encode())
            made.append(folder / name)
    except NotDone:
        for path in made:
            path.unlink()
        raise
    return tuple(made)


def _text(name: str, folder: Path) -> str:
    text = (files("fieldfare.show") / "templates" / name).read_text("utf-8")
    if name != NAMES[0]:
        return text
    words = printable(folder.resolve().name).replace("-", " ").replace("_", " ").strip()
    title = json.dumps(words[:1].upper() + words[1:200] or "Untitled", ensure_ascii=False)
    return text.replace('title = "Untitled"', f"title = {title}", 1)

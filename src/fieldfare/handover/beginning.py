"""Files to begin with, commented, with nothing invented in them."""

from __future__ import annotations

from pathlib import Path

from fieldfare.show.files import write_whole
from fieldfare.units.faults import NotDone

_FILES = Path(__file__).parent / "begin"


def begin(folder: Path, *names: str) -> tuple[Path, ...]:
    """Write files to begin with into a folder; those that are there stay as they are.

    Parameters
    ----------
    folder
        The show's folder.
    names
        Which of them: ``"money.toml"``, ``"business.toml"``.

    Raises
    ------
    NotDone
        All of them are there already, or the folder cannot be written to.
    """
    missing = [name for name in names if not (folder / name).exists()]
    if not missing:
        raise NotDone("the file is there already", str(folder / names[0]), "change it in any editor")
    for name in missing:
        write_whole(folder / name, (_FILES / name).read_bytes())
    return tuple(folder / name for name in missing)

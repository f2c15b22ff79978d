"""Where a show keeps what was measured of time and polarity, with what a person marked of the shifts."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from fieldfare.show.alignment import Alignment
from fieldfare.show.files import write_whole
from fieldfare.show.kept import read_kept
from fieldfare.takes.offload.kept import TAKES

FILE = "alignment.json"


def keep_alignment(folder: Path, measured: Alignment, *, beside: bool = False) -> Path:
    """Keep what was measured in the show's folder, in place of what was kept before.

    Parameters
    ----------
    folder
        Of the show.
    measured
        What was measured.
    beside
        Takes that were not measured again stay as they were.

    Returns
    -------
    The file.

    Raises
    ------
    Fault
        What lies there, and is to stay, is no such document.
    NotDone
        It cannot be written there.
    """
    before = kept_alignment(folder) if beside else None
    again = {take.take: take for take in measured.take}
    old = [again.pop(take.take, take) for take in (before.take if before else ())]
    whole = measured.model_copy(update={"take": (*old, *again.values())})
    file = folder / TAKES / FILE
    with suppress(OSError):  # told where the file is written
        file.parent.mkdir(exist_ok=True)
    write_whole(file, whole.model_dump_json(indent=1).encode(), replace=True)
    return file


def kept_alignment(folder: Path) -> Alignment | None:
    """Return what was measured of a show's takes; None where nothing was yet.

    Raises
    ------
    Fault
        The file is there and is no such document.
    """
    remedy = "measure them again after taking it away"
    return read_kept(folder / TAKES / FILE, Alignment, "these are no measured delays", remedy)

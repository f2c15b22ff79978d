"""All long work in one table: what each kind is called, whose page shows it, and what it does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Work
from fieldfare.desk.works import offload, parcels, pictures, rough, songs, timing, watch, whatif
from fieldfare.takes.offload.kept import TAKES
from fieldfare.units.faults import Fault


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of long work."""

    page: str  # that begins it and shows what it made
    running: str
    again: str  # what the button says that goes on with it
    make: Callable[[Book, Asks], Work]
    left: str = "What was done is kept; it goes on where it was."  # said of it where it was stopped or cut off
    stop: str = "Stop, and keep what is done"  # what the button says that stops it
    reaches_out: bool = False  # beyond the show's folder: only the laptop's own browser may begin it


GO_ON = "Go on where it was"
BESIDE = "What is proven is kept, hidden beside that folder; it goes on where it was."
KINDS: Mapping[str, Kind] = {
    "offload": Kind("offload", "Copying", GO_ON, offload.copying, reaches_out=True),
    "songs": Kind("songs", "Listening for songs", GO_ON, songs.finding),
    "cut": Kind("songs", "Cutting the songs", GO_ON, songs.cutting, BESIDE, reaches_out=True),
    "timing": Kind("timing", "Measuring delays and polarity", GO_ON, timing.measuring),
    "shift": Kind("timing", "Writing shifted tracks", GO_ON, timing.shifting, BESIDE, reaches_out=True),
    "rough": Kind("rough", "Mixing", GO_ON, rough.mixing),
    "pictures": Kind("pictures", "Putting pictures to the sound", GO_ON, pictures.putting, reaches_out=True),
    "parcel": Kind("handover", "Making a parcel", GO_ON, parcels.packing, BESIDE, reaches_out=True),
    "whatif": Kind(
        "sheets",
        "Trying every failure",
        "Try them again",
        whatif.trying,
        "Nothing of it is kept; it begins anew.",
        "Stop",
    ),
    "watch": Kind(
        "watch",
        "Watching",
        "Watch again",
        watch.watching,
        "Nobody watches the recording now.",
        "Stop watching",
        reaches_out=True,
    ),
}


def kind_of(name: str) -> Kind:
    """Return a kind of work by its name.

    Raises
    ------
    Fault
        There is none.
    """
    if name not in KINDS:
        raise Fault("there is no such work", name[:40], "begin it from its page")
    return KINDS[name]


def job_file(folder: Path, kind: str) -> Path:
    """Return where it stands how far the work of a kind is."""
    return folder / TAKES / f"{kind}-job.json"

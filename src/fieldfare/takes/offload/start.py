"""Before a byte is written: is the card there, are the destinations fit for it, and is there room?"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldfare.show.files import absent
from fieldfare.takes.offload.card import Listing
from fieldfare.takes.offload.device import Device
from fieldfare.takes.offload.disk import Disk
from fieldfare.units.faults import NotDone
from fieldfare.units.text import gigabytes, listed

_RESERVE_BYTES = 16 << 20  # for folders, journal and report


@dataclass(frozen=True, slots=True)
class Target:
    """A destination that may be used, and what it lies on."""

    root: Path
    device: Device


def card_name(card: Path, name: str) -> str:
    """Return the name that the copies go under.

    Raises
    ------
    NotDone
        The card is not there, or no name can be made of it.
    """
    if not card.is_dir():
        raise NotDone(
            absent(card, "folder"),
            str(card),
            "name the card, or a folder on it; check that it is in the reader and mounted",
        )
    chosen = name or card.resolve().name
    if not chosen or chosen in (".", "..") or Path(chosen).name != chosen or "\0" in chosen:
        what = f"{chosen!r} cannot be the name of a folder" if chosen else "the card has no name to call the copies by"
        raise NotDone(what, str(card), "give a name")
    return chosen


def targets_of(disk: Disk, card: Path, roots: Sequence[Path], *, same_device: bool) -> tuple[Target, ...]:
    """Look at the destinations.

    Raises
    ------
    NotDone
        None is given, one is not there, cannot be written to, lies within the card or is given twice; or two share a
        device, or one shares that of the card, and this was not asked for.
    """
    if not roots:
        raise NotDone("no destination is given", str(card), "give two folders on different discs")
    targets: list[Target] = []
    for root in roots:
        parent = next((one for one in (root, root.parent) if one.is_dir()), None)
        if parent is None:
            raise NotDone(absent(root, "folder"), str(root), "check that the disc is mounted")
        if not disk.may_write(parent):
            raise NotDone("nothing can be written there", str(root), "see to its rights, or give another folder")
        targets.append(Target(root, disk.device(parent)))
    _refuse_nested(card, roots)
    if not same_device:
        _refuse_shared(card, disk.device(card), targets)
    return tuple(targets)


def _refuse_nested(card: Path, roots: Sequence[Path]) -> None:
    real = [Path(os.path.realpath(root)) for root in roots]
    source = Path(os.path.realpath(card))
    for place, root in enumerate(real):
        if root == source or source in root.parents:
            raise NotDone("it lies on the card itself", str(roots[place]), "give a folder on another disc")
        if root in real[:place]:
            raise NotDone("it is given twice", str(roots[place]), "give two folders on different discs")


def _refuse_shared(card: Path, source: Device, targets: list[Target]) -> None:
    remedy = "give a folder on another disc, or say that one device will do"
    for place, target in enumerate(targets):
        if target.device.shares_with(source):
            raise NotDone(f"it is on the same device as the card {card}", str(target.root), remedy)
        for other in targets[:place]:
            if target.device.shares_with(other.device):
                raise NotDone(f"it is on the same device as {other.root}", str(target.root), remedy)


def refuse_without_room(disk: Disk, listing: Listing, targets: Sequence[Target], name: str) -> None:
    """Compare what is still to be copied with the room there is, and with the longest file that fits.

    Raises
    ------
    NotDone
        There is too little room on a device for all that goes there, or a file is too long for it.
    """
    longest = max(listing.file, key=lambda file: file.bytes, default=None)
    for target in targets:
        limit = target.device.largest_file
        if longest is not None and limit is not None and longest.bytes > limit:
            what = f"{longest.name} has {longest.bytes} bytes, and no file there may have more than {limit}"
            raise NotDone(what, str(target.root), "use a disc that is not formatted as FAT")
        together = [one for one in targets if one.device.shares_with(target.device)]
        needed = sum(_still_to_copy(listing, one.root / name) for one in together)
        free = disk.free_bytes(target.root if target.root.is_dir() else target.root.parent)
        if needed and needed + _RESERVE_BYTES > free:
            roots = listed(str(one.root) for one in together)
            what = f"{gigabytes(needed + _RESERVE_BYTES)} are needed and {gigabytes(free)} are free"
            raise NotDone(what, roots, "make room, or use another disc")


def _still_to_copy(listing: Listing, folder: Path) -> int:
    return sum(file.bytes for file in listing.file if not os.path.lexists(folder / file.name))

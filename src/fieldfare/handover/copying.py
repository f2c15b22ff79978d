"""Copying a bag to a stick or a disc: every byte read back from there and compared with the bag's own manifest."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fieldfare.handover.bag import is_litter
from fieldfare.handover.reading import BLOCK_BYTES
from fieldfare.handover.validate import BagCheck, check_bag
from fieldfare.show.files import refuse, refuse_small_disc, whole_folder
from fieldfare.takes.offload.device import device_of
from fieldfare.takes.offload.disk import Disk
from fieldfare.units.faults import Fault, NotDone

Tell = Callable[[str, float], None]


def copy_bag(bag: Path, place: Path, tell: Tell) -> tuple[Path, BagCheck]:
    """Copy a bag into a folder, read the copy back from its medium and check it.

    Parameters
    ----------
    bag
        The bag; it is only read.
    place
        Where its folder goes.
    tell
        Called with what is done and the share of it, from 0 to 1.

    Returns
    -------
    The copy, and what was found of it: complete and valid, or it would not be there.

    Raises
    ------
    Fault
        It is no bag.
    NotDone
        It is there already, a file is too large for that medium, the medium is full, or the copy is not valid; nothing
        is left there.
    """
    if not (bag / "bagit.txt").is_file():
        raise Fault("this is no bag: bagit.txt is not in it", str(bag), "name the bag's own folder")
    target = place / bag.name
    refuse(target)
    _refuse(bag, target)
    with whole_folder(target) as part:
        _copy(bag, part, tell)
        found = check_bag(part, lambda share: tell("reading back", share))
        if found.fault:
            first = found.fault[0]
            what = f"the copy is not the bag: {first.file}: {first.says}"
            raise NotDone(what, str(place), "check the bag itself, then try another stick")
    try:
        Disk().settle_folder(place)
    except OSError as error:
        why = (error.strerror or "the system refused").lower()
        raise NotDone(
            f"its name may not be kept: {why}", str(target), "check that copy: fieldfare bag check"
        ) from error
    return target, found


def _refuse(bag: Path, target: Path) -> None:
    files = _files(bag)
    there = next(one for one in target.absolute().parents if one.is_dir())
    limit = device_of(there).largest_file
    for path in files:
        if limit is not None and path.stat().st_size > limit:
            what = f"{path.name} is larger than the {limit} bytes that its file system takes"
            raise NotDone(what, str(target.parent), "format the stick as exFAT, or use another")
    refuse_small_disc(target, sum(path.stat().st_size for path in files))


def _files(bag: Path) -> list[Path]:
    """Return the files of a bag, without what an operating system left among them."""
    return sorted(path for path in bag.rglob("*") if path.is_file() and not is_litter(path.name))


def _copy(bag: Path, part: Path, tell: Tell) -> None:
    disk = Disk()
    files = _files(bag)
    total, done = sum(path.stat().st_size for path in files), 0
    for path in files:
        target = part / path.relative_to(bag)
        target.parent.mkdir(parents=True, exist_ok=True)
        with disk.open_source(path) as source, disk.create(target) as copy:
            while block := source.read(BLOCK_BYTES):
                view = memoryview(block)
                while view:
                    view = view[disk.write(copy, view) :]
                done += len(block)
                tell("copying", done / max(1, total))
            disk.settle(copy)

"""Cameras put to the sound: where each clip lies, pictures with our mix under them, edit lists."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from shutil import rmtree

from pydantic import ValidationError

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.parts import Parts
from fieldfare.desk.works.rough import sheet_of, stretches
from fieldfare.desk.works.songs import kept_songs
from fieldfare.show.files import write_whole
from fieldfare.show.picture import Device, PictureReport
from fieldfare.takes.axis import Axis
from fieldfare.takes.offload.kept import TAKES
from fieldfare.takes.picture.media import media_files
from fieldfare.takes.picture.work import (
    REPORT,
    Camera,
    Pictures,
    find_cameras,
    lay_mixes,
    mixes_of,
    shown,
    write_edits,
)
from fieldfare.takes.stamps import stamp_of_take, stamps_of_files
from fieldfare.units.faults import Fault
from fieldfare.units.text import slug

FOLDER = "pictures"
LAYING = "laying"  # where pictures are made before they are put in their place


def kept_pictures(folder: Path) -> tuple[PictureReport, ...]:
    """Return where the clips were found, take by take."""
    found = []
    for file in sorted((folder / TAKES).glob("pictures-*.json")):
        try:
            found.append(PictureReport.model_validate_json(file.read_bytes()))
        except (OSError, ValidationError):
            continue
    return tuple(found)


def putting(book: Book, asks: Asks) -> Work:
    """Make the work of finding the clips of every camera; with our mix laid under them where there is one.

    A camera that was found before the work was cut off is not looked for again.

    Raises
    ------
    Fault
        A camera's folder is not there.
    """
    axes, now, songs = axes_of(book), book.open(), kept_songs(book.folder)
    places = {one.name.casefold(): one.at for one in now.read.show.camera}
    cameras = tuple(_camera(line, places) for line in _lines(asks.get("cameras", [])))
    parts, warm = Parts(book.folder, "pictures"), now.read.venue.temperature_c.known

    def work(tell: Tell) -> str:
        found = 0
        for axis in axes:
            kept, keep = _parts(parts, axis, cameras, warm)
            report = find_cameras(axis, cameras, warm, tell, known=kept, keep=keep)
            sheet, own = sheet_of(book.folder, axis.name), book.folder / FOLDER / (slug(axis.name) or "take")
            mixes = mixes_of(sheet.parent, axis) if sheet.is_file() else ()
            pictures = Pictures(report, cameras, mixes, tuple(stretches(songs, axis)))
            if mixes and asks.get("lay") and shown(pictures):
                pictures = replace(pictures, report=_laid(pictures, own, book.folder / TAKES / LAYING, tell))
            report = write_edits(pictures, own, now.plan.title) if shown(pictures) else pictures.report
            file = book.folder / TAKES / f"pictures-{slug(axis.name) or 'take'}.json"
            write_whole(file, report.model_dump_json(indent=1).encode(), replace=True)
            found += sum(clip.found for device in report.device for clip in device.clip)
        parts.let_go()
        return (
            f"{found} {'clip' if found == 1 else 'clips'} found in the takes; edit lists are in {book.folder / FOLDER}."
        )

    return work


def _laid(pictures: Pictures, own: Path, aside: Path, tell: Tell) -> PictureReport:
    """Lay the mixes aside, then put the files in their place: what an earlier laying made there is replaced."""
    rmtree(aside, ignore_errors=True)  # of one that was cut off
    report = lay_mixes(pictures, aside, tell)
    own.mkdir(parents=True, exist_ok=True)
    try:
        before = PictureReport.model_validate_json((own / REPORT).read_bytes()).laid
    except (OSError, ValidationError):
        before = ()
    for file in sorted(aside.iterdir()):
        file.replace(own / file.name)
    for name in {one.file for one in before} - {one.file for one in report.laid}:
        (own / name).unlink(missing_ok=True)
    aside.rmdir()
    return report


def _parts(
    parts: Parts, axis: Axis, cameras: Sequence[Camera], warm: float | None
) -> tuple[dict[str, Device], Callable[[Device], None]]:
    """Return the cameras of a take that are found already, and how to keep one more."""
    stamps = {
        one.name: stamp_of_take(axis, warm, one, stamps_of_files(sorted(media_files(one.path)))) for one in cameras
    }

    def part(name: str) -> str:
        return f"{axis.name} {name}"

    kept = {name: parts.find(part(name), stamp) for name, stamp in stamps.items()}
    known = {name: Device.model_validate_json(content) for name, content in kept.items() if content is not None}
    return known, lambda one: parts.keep(part(one.name), stamps[one.name], one.model_dump_json().encode())


def _lines(said: str | bool | list[str]) -> list[str]:
    return said if isinstance(said, list) else []


def _camera(line: str, places: dict[str, tuple[float, float, float]]) -> Camera:
    name, _, path = line.partition("=")
    if not Path(path).exists():
        raise Fault("there is no such file or folder", path[:200], "name the camera's file, or the folder of its clips")
    return Camera(name, Path(path), places.get(name.casefold()))

"""Cameras put to the sound: where each clip lies, pictures with our mix under them, edit lists."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.rough import sheet_of, stretches
from fieldfare.desk.works.songs import kept_songs
from fieldfare.show.files import write_whole
from fieldfare.show.picture import PictureReport
from fieldfare.takes.offload.kept import TAKES
from fieldfare.takes.picture.work import Camera
from fieldfare.units.faults import Fault
from fieldfare.units.text import slug

FOLDER = "pictures"


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

    Raises
    ------
    Fault
        A camera's folder is not there.
    """
    axes, now, songs = axes_of(book), book.open(), kept_songs(book.folder)
    places = {one.name.casefold(): one.at for one in now.read.show.camera}
    cameras = tuple(_camera(line, places) for line in _lines(asks.get("cameras", [])))

    def work(tell: Tell) -> str:
        from fieldfare.takes.picture.work import Pictures, find_cameras, lay_mixes, mixes_of, write_edits

        found = 0
        for axis in axes:
            report = find_cameras(axis, cameras, now.read.venue.temperature_c.known, tell)
            sheet, own = sheet_of(book.folder, axis.name), book.folder / FOLDER / (slug(axis.name) or "take")
            mixes = mixes_of(sheet.parent, axis) if sheet.is_file() else ()
            pictures = Pictures(report, cameras, mixes, tuple(stretches(songs, axis)))
            if mixes and asks.get("lay"):
                pictures = replace(pictures, report=lay_mixes(pictures, own, tell))
            report = write_edits(pictures, own, now.plan.title)
            file = book.folder / TAKES / f"pictures-{slug(axis.name) or 'take'}.json"
            write_whole(file, report.model_dump_json(indent=1).encode(), replace=True)
            found += sum(clip.found for device in report.device for clip in device.clip)
        return (
            f"{found} {'clip' if found == 1 else 'clips'} found in the takes; edit lists are in {book.folder / FOLDER}."
        )

    return work


def _lines(said: str | bool | list[str]) -> list[str]:
    return said if isinstance(said, list) else []


def _camera(line: str, places: dict[str, tuple[float, float, float]]) -> Camera:
    name, _, path = line.partition("=")
    if not Path(path).exists():
        raise Fault("there is no such file or folder", path[:200], "name the camera's file, or the folder of its clips")
    return Camera(name, Path(path), places.get(name.casefold()))

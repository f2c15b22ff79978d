"""fieldfare picture: cameras and recorders put in time with a take by their own sound, and our mix under them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import Inputs, OneTake, Paper, PaperSize, PapersSpeak, Recordings, ShowOrFolder, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json, table
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure, printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldfare.cli.planned import Planned
    from fieldfare.show.picture import Clip, Device, PictureReport
    from fieldfare.show.songs import SongBook
    from fieldfare.takes.axis import Axis
    from fieldfare.takes.picture.work import Camera
    from fieldfare.takes.rough.choose import Stretch

LONGEST_NAME = 200  # of anything that is named


def picture(
    where: ShowOrFolder,
    camera: Annotated[
        list[str], typer.Option(help="NAME=FILE or NAME=FOLDER of its clips; again for each camera or recorder.")
    ],
    recordings: Recordings = None,
    inputs: Inputs = None,
    take: OneTake = "",
    document: Annotated[
        Path | None, typer.Option(help="The songs document; songs.toml in a show's folder, where there is one.")
    ] = None,
    mix: Annotated[
        Path | None, typer.Option(help="Our mix: a stereo WAV that begins with the take, or a rough mix's folder.")
    ] = None,
    lay_to: Annotated[Path | None, typer.Option(help="A new folder for the pictures with our mix, per song.")] = None,
    onto_take: Annotated[
        Path | None, typer.Option(help="A new folder for recorders' sound, resampled to the take's clock.")
    ] = None,
    edit_to: Annotated[
        Path | None, typer.Option(help="A folder for a timeline (OpenTimelineIO) and an edit list a camera.")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="A folder to write picture.pdf into: how each clock ran.")] = None,
    paper: PaperSize = Paper.a4,
    language: PapersSpeak = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write offsets, clocks and files as JSON.")] = False,
) -> None:
    """Find where each camera's clips lie in the take and how its clock ran. No picture is ever encoded again."""
    if lay_to and not mix:
        raise Fault("there is no mix to lay under the pictures", "--lay-to", "name one with --mix")
    from fieldfare.cli.recorded import printing_of, recorded, takes_of
    from fieldfare.sheets.picture import write_picture_sheet

    found = recorded(where, recordings, inputs)
    made, axes = found.made, takes_of(found, take)
    book = _book(_document(document, made))
    reports = []
    for axis in axes:
        report = _found(axis, made, camera, quiet=as_json)
        reports.append(_made(report, axis, made, camera, book, (mix, lay_to, onto_take, edit_to), many=len(axes) > 1,
                             quiet=as_json))  # fmt: skip
    sheets = write_picture_sheet(reports, pdf, printing_of(made, paper.value, language.value)) if pdf else ()
    if as_json:
        show_json({"folder": str(found.folder), "take": [report.model_dump(mode="json") for report in reports]})
    else:
        for report in reports:
            tell_report(report)
        for path in sheets:
            say(f"Printed {path}.")
    leave(status_of(reports))


def status_of(reports: Sequence[PictureReport]) -> Status:
    """Tell whether a person should look: at a clip that lies in no take, or is not sure."""
    from fieldfare.takes.picture.sync import DOUBTFUL

    best: dict[tuple[str, str], float] = {}
    for report in reports:
        for device in report.device:
            for clip in device.clip:
                key = (device.name, clip.file)
                best[key] = max(best.get(key, 0.0), clip.confidence if clip.found else 0.0)
    return Status.LOOK if any(sure < DOUBTFUL for sure in best.values()) else Status.DONE


def _document(document: Path | None, made: Planned | None) -> Path | None:
    """Return the songs document: the one that is named, or the show's own where it is there."""
    from fieldfare.show.songs import SONGS_FILE

    own = made.read.folder / SONGS_FILE if made else None
    return document or (own if own and own.is_file() else None)


def _book(document: Path | None) -> SongBook | None:
    from fieldfare.show.songs import read_songs

    return read_songs(document) if document else None


def _cameras(words: Sequence[str], made: Planned | None) -> tuple[Camera, ...]:
    """Read which cameras there are; one that the show has by that name stands where the show says."""
    from fieldfare.takes.picture.work import Camera

    places = {one.name.casefold(): one.at for one in made.read.show.camera} if made else {}
    found = []
    for word in words:
        name, equals, path = word.partition("=")
        if not equals:
            name, path = Path(word).stem, word
        name = printable(name.strip())
        if not 0 < len(name) <= LONGEST_NAME or not path.strip():
            raise Fault(f"{word!r} names no camera", "--camera", 'write "Camera 1=FILE" or "Camera 1=FOLDER"')
        found.append(Camera(name, Path(path.strip()), places.get(name.casefold())))
    return tuple(found)


def _found(axis: Axis, made: Planned | None, camera: Sequence[str], *, quiet: bool) -> PictureReport:
    from fieldfare.cli.progress import Bar
    from fieldfare.takes.picture.work import find_cameras

    warm = made.read.venue.temperature_c.known if made else None
    with Bar(quiet=quiet) as bar:
        return find_cameras(axis, _cameras(camera, made), warm, lambda what, share: bar.show(what, share, 1.0))


def _made(
    report: PictureReport,
    axis: Axis,
    made: Planned | None,
    camera: Sequence[str],
    book: SongBook | None,
    paths: tuple[Path | None, Path | None, Path | None, Path | None],
    *,
    many: bool,
    quiet: bool,
) -> PictureReport:
    """Lay the mix and write edit lists, where that was asked."""
    from fieldfare.cli.progress import Bar
    from fieldfare.takes.picture.work import Pictures, lay_mixes, mixes_of, write_edits, write_onto
    from fieldfare.units.text import file_stem

    mix, lay_to, onto_take, edit_to = paths
    pictures = Pictures(report, _cameras(camera, made), mixes_of(mix, axis) if mix else (), _songs(book, report.take))
    own = file_stem(report.take, "take") if many else ""
    if lay_to:
        with Bar(quiet=quiet) as bar:
            report = lay_mixes(pictures, lay_to / own, lambda what, share: bar.show(what, share, 1.0))
    if onto_take:
        with Bar(quiet=quiet) as bar:
            pictures = replace(pictures, report=report)
            report = write_onto(pictures, onto_take / own, lambda what, share: bar.show(what, share, 1.0))
    if edit_to:
        title = made.plan.title if made else report.take
        report = write_edits(replace(pictures, report=report), edit_to / own, title)
    return report


def _songs(book: SongBook | None, take: str) -> tuple[Stretch, ...]:
    from fieldfare.takes.rough.choose import Stretch

    takes = [one for one in book.take if one.take == take] if book else []
    songs = [song for one in takes for song in one.song if song.keep]
    return tuple(Stretch(song.title, song.start, song.end) for song in sorted(songs, key=lambda song: song.start))


def tell_report(report: PictureReport) -> None:
    """Say where the clips lie, and what was made."""
    heading(report.take)
    rows = [_row(device, clip) for device in report.device for clip in device.clip]
    heads = ("camera", "clip", "offset, s", "clock, ppm", "rms, ms", "sure, %")
    table(heads, rows, (14, 18, -12, -11, -7, -7))
    say("t_take = offset + t_device / (1 + ppm·10⁻⁶); offset: of the first picture, or first sample.")
    for device in report.device:
        for clip in device.clip:
            for note in clip.note:
                say(f"{device.name}, {clip.file}: {note}.", indent=1, hang=2)
    for one in report.laid:
        early = f", begins {figure(one.early_s, 2)} s ahead of the song" if one.early_s else ""
        say(f"Laid {one.file}: {one.frames} pictures unchanged{early}.", hang=2)
    for note in report.note:
        say(f"{note}.", hang=2)
    for file in (*report.onto, *report.edit):
        say(f"Wrote {file}.")


def _row(device: Device, clip: Clip) -> tuple[str, ...]:
    if not clip.found:
        return (device.name, clip.file, "not found", "", "", figure(100 * clip.confidence))
    about = "" if clip.ppm_plus_minus is None else f" ±{figure(clip.ppm_plus_minus, 1)}"
    return (
        device.name,
        clip.file,
        figure(clip.offset_s, 4),
        f"{figure(clip.ppm, 1)}{about}",
        figure(clip.residual_ms, 2),
        figure(100 * clip.confidence),
    )

"""fieldfare rough: a rough mix chosen by measurement, kept in a sheet that can be altered, and rendered from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import Inputs, OneTake, Paper, PaperSize, PapersSpeak, Recordings, ShowOrFolder, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json, table
from fieldfare.show.mix import Format
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import figure, listed, slug

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldfare.cli.recorded import Recorded
    from fieldfare.sheets.head import Printing
    from fieldfare.show.mix import MixReport, MixSheet, MixTarget
    from fieldfare.takes.axis import Axis
    from fieldfare.takes.rough.choose import Stretch
    from fieldfare.takes.rough.levels import TrackPower

FORMATS: tuple[Format, ...] = ("wav", "flac", "m4a", "mp3")


def rough(
    where: ShowOrFolder,
    to: Annotated[
        Path | None, typer.Option(help="A folder for the mixes and the mix sheet; a show's own is its roughs.")
    ] = None,
    recordings: Recordings = None,
    inputs: Inputs = None,
    songs: Annotated[
        Path | None, typer.Option(help="The songs document; songs.toml of the show where there is one.")
    ] = None,
    sheet: Annotated[
        Path | None, typer.Option(help="A mix sheet to be rendered as it stands; nothing is chosen anew.")
    ] = None,
    shifts: Annotated[
        Path | None, typer.Option(help="A list of shifts from align --offer: the marked ones go into the mix.")
    ] = None,
    take: OneTake = "",
    loudness: Annotated[
        float | None, typer.Option(min=-40, max=-6, help="Integrated loudness in LUFS: -14, -16, -23 or any. [-16]")
    ] = None,
    ceiling: Annotated[float | None, typer.Option(min=-12, max=0, help="Highest true peak in dBTP. [-1]")] = None,
    form: Annotated[list[str] | None, typer.Option("--form", help="wav, flac, m4a (AAC), mp3. [wav]")] = None,
    whole: Annotated[bool, typer.Option("--whole", help="The whole take in one piece as well.")] = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="The mix sheet on paper too, mix.pdf beside the mixes.")] = False,
    paper: PaperSize = Paper.a4,
    language: PapersSpeak = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write what was rendered as JSON.")] = False,
) -> None:
    """Mix every song, or the take: balanced by loudness, panned as drawn, limited; every choice in a sheet."""
    from fieldfare.cli.recorded import printing_of, recorded, takes_of

    found = recorded(where, recordings, inputs)
    axes = takes_of(found, take)
    to = to or _home(found)
    wanted = _formats(form or ["wav"])
    if sheet:
        reports = [_rendered_again(axes, sheet, to, (loudness, ceiling), wanted, whole=whole, quiet=as_json)]
    else:
        target = _target(None, loudness, ceiling)
        cut = _songs(found, songs, axes)
        reports = [
            _chosen(axis, cut[axis.name], to / slug(axis.name) if len(axes) > 1 else to, target, shifts, wanted,
                    whole=whole, quiet=as_json)
            for axis in axes
        ]  # fmt: skip
    for report in reports if pdf else ():
        printing = printing_of(found.made, paper.value, language.value)
        _print(report, printing, to / slug(report.take) if len(reports) > 1 else to)
    if as_json:
        show_json({"mix": [report.model_dump(mode="json") for report in reports]})
    else:
        for report in reports:
            tell(report)
    leave(Status.LOOK if any(report.note for report in reports) else Status.DONE)


def _home(found: Recorded) -> Path:
    """Return the folder of a show in which a parcel looks for rough mixes."""
    if found.made is None:
        raise Fault("there is no show to keep the mixes in", "--to", "name a folder for them")
    return found.made.read.folder / "roughs"


def _print(report: MixReport, printing: Printing, folder: Path) -> None:
    from fieldfare.sheets.mix import write_mix_sheet
    from fieldfare.show.mix import read_mix

    write_mix_sheet(read_mix(Path(report.sheet)), report, folder, printing)


def _formats(asked: Sequence[str]) -> tuple[Format, ...]:
    for one in asked:
        if one not in FORMATS:
            raise Fault(f"there is no form {one}", "--form", f"give {listed(FORMATS).replace(' and ', ' or ')}")
    return tuple(one for one in FORMATS if one in asked)


def _target(before: MixTarget | None, loudness: float | None, ceiling: float | None) -> MixTarget:
    from fieldfare.show.mix import MixTarget

    asked = {"loudness_lufs": loudness, "ceiling_dbtp": ceiling}
    return (before or MixTarget()).model_copy(update={name: one for name, one in asked.items() if one is not None})


def _songs(found: Recorded, document: Path | None, axes: Sequence[Axis]) -> dict[str, tuple[Stretch, ...]]:
    """The songs of every take, with their handles; none where nobody looked for songs yet."""
    from fieldfare.show.songs import SONGS_FILE, read_songs
    from fieldfare.takes.rough.choose import Stretch
    from fieldfare.takes.songs.cut import matched
    from fieldfare.takes.songs.pieces import pieces_of

    beside = found.made.read.folder / SONGS_FILE if found.made else None
    path = document or (beside if beside and beside.is_file() else None)
    cut: dict[str, tuple[Stretch, ...]] = {axis.name: () for axis in axes}
    if path is None:
        return cut
    book = read_songs(path)
    here = book.model_copy(update={"take": tuple(one for one in book.take if one.take in cut)})
    for axis, one in matched(here, axes):
        pieces = pieces_of(one, book.handles)
        cut[axis.name] = tuple(Stretch(piece.title, piece.start, piece.end) for piece in pieces if piece.kind == "song")
    return cut


def _chosen(
    axis: Axis,
    songs: Sequence[Stretch],
    folder: Path,
    target: MixTarget,
    shifts: Path | None,
    wanted: Sequence[Format],
    *,
    whole: bool,
    quiet: bool,
) -> MixReport:
    """Choose a mix, keep its sheet, render it."""
    from fieldfare.cli.progress import Bar
    from fieldfare.show.alignment import read_shifts
    from fieldfare.show.mix import REMARK, SHEET_FILE
    from fieldfare.show.write_toml import write_toml
    from fieldfare.takes.rough.choose import choose_mix
    from fieldfare.takes.rough.levels import power_of_tracks
    from fieldfare.takes.rough.shifted import with_shifts

    path = folder / SHEET_FILE
    if path.exists():
        remedy = f"--sheet {path} renders it; or name another folder"
        raise NotDone("a mix sheet lies there already, and may have been altered by hand", str(folder), remedy)
    with Bar(quiet=quiet) as bar:
        power = power_of_tracks(axis, axis.track, lambda share: bar.show("listening", share, 1.0))
    sheet = choose_mix(axis, songs, target, power=power)
    if shifts:
        sheet = with_shifts(sheet, read_shifts(shifts))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotDone(f"cannot be made ({error.strerror})", str(folder), "name another folder") from error
    write_toml(sheet, path, REMARK)
    return _rendered(axis, sheet, folder, path, wanted, whole=whole, quiet=quiet, power=power)


def _rendered_again(
    axes: Sequence[Axis],
    path: Path,
    folder: Path,
    asked: tuple[float | None, float | None],
    wanted: Sequence[Format],
    *,
    whole: bool,
    quiet: bool,
) -> MixReport:
    """Render a sheet as it stands."""
    from fieldfare.show.mix import read_mix

    sheet = read_mix(path)
    axis = next((one for one in axes if one.name == sheet.take), None)
    if axis is None:
        raise Fault(
            f"it is for take {sheet.take}, which is not there", str(path), "name the recordings it was made for"
        )
    sheet = sheet.model_copy(update={"target": _target(sheet.target, *asked)})
    return _rendered(axis, sheet, folder, path, wanted, whole=whole, quiet=quiet)


def _rendered(
    axis: Axis,
    sheet: MixSheet,
    folder: Path,
    path: Path,
    wanted: Sequence[Format],
    *,
    whole: bool,
    quiet: bool,
    power: TrackPower | None = None,
) -> MixReport:
    from fieldfare.cli.progress import Bar
    from fieldfare.takes.rough.render import render_mix

    with Bar(quiet=quiet) as bar:
        return render_mix(
            axis,
            sheet,
            folder,
            wanted,
            whole=whole,
            sheet_file=str(path),
            power=power,
            tell=lambda what, share: bar.show(what, share, 1.0),
        )


def tell(report: MixReport) -> None:
    """Say which files were made, how loud they are, and what a person should listen to."""
    from fieldfare.units.clock import clock

    heading(f"{report.take}: {len(report.file)} {'file' if len(report.file) == 1 else 'files'}")
    rows = [
        (
            f" {one.file}",
            clock(one.frames / one.rate_hz),
            "silent" if one.loudness_lufs is None else figure(one.loudness_lufs, 1),
            "" if one.true_peak_dbtp is None else figure(one.true_peak_dbtp, 1),
            figure(one.limited_db, 1),
        )
        for one in report.file
    ]
    table((" file", "length", "LUFS", "dBTP", "limited dB"), rows, (40, -8, -7, -6, -10))
    for note in report.note:
        say(note, indent=1, hang=2)
    say(f"Every choice is in {report.sheet}: alter it, then --sheet {report.sheet} renders it again.", indent=1, hang=2)

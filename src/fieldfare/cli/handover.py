"""fieldfare handover: a parcel for one receiver, sealed, and copied to sticks with every byte read back."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from fieldfare.cli.options import Paper, PaperSize, Recordings, ShowPath, Tongue
from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.cli.planned import Planned
    from fieldfare.handover.parcel import Contents, Parcel
    from fieldfare.show.receiver import Receiver
    from fieldfare.takes.axis import Axis


def handover(
    show: ShowPath,
    receiver: Annotated[
        str, typer.Option("--for", help="Who gets it: mixer, band, film editor, archive, or your own.")
    ] = "",
    to: Annotated[
        list[Path] | None, typer.Option(help="Where it is made; given again, copies go there too, read back.")
    ] = None,
    recordings: Recordings = None,
    roughs: Annotated[Path | None, typer.Option(help="Folder of rough mixes; roughs/ in the show's folder.")] = None,
    pictures: Annotated[Path | None, typer.Option(help="Folder of pictures; pictures/ in the show's folder.")] = None,
    paper: PaperSize = Paper.a4,
    language: Annotated[Tongue, typer.Option(help="Language of what people read in it, but for names.")] = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write what was made as JSON.")] = False,
) -> None:
    """Make a parcel for one receiver; without --for, say who gets what and what is missing."""
    from fieldfare.cli.planned import planned
    from fieldfare.handover import receivers

    made = planned(show)
    if not receiver:
        known = receivers.receivers(made.read.folder)
        _tell_receivers(tuple(known.values()), _contents(made, recordings, roughs, pictures, with_tracks=True))
        return
    chosen = receivers.receiver(made.read.folder, receiver)
    contents = _contents(made, recordings, roughs, pictures, with_tracks=chosen.tracks != "none")
    contents = replace(contents, language=language.value, paper=paper.value)
    _make(made, contents, chosen, to or [made.read.folder / "parcels"], as_json=as_json)


def _make(made: Planned, contents: Contents, chosen: Receiver, places: list[Path], *, as_json: bool) -> None:
    from fieldfare.cli.progress import Bar
    from fieldfare.handover.copying import copy_bag
    from fieldfare.handover.parcel import make_parcel

    printed = dt.datetime.now(ZoneInfo(made.read.venue.zone))
    with Bar(quiet=as_json) as bar:
        parcel = make_parcel(contents, chosen, places[0], printed, lambda what, share: bar.show(what, share, 1.0))
    copies = []
    for place in places[1:]:
        with Bar(quiet=as_json) as bar:
            copies.append(copy_bag(parcel.folder, place, lambda what, share: bar.show(what, share, 1.0)))
    _log(made, chosen, parcel)
    folders = [parcel.folder, *(folder for folder, _ in copies)]
    if as_json:
        show_json(_as_data(parcel, folders))
    else:
        _tell(parcel, chosen)
        for folder, found in copies:
            say(f"Copied to {folder}: complete, valid, {SAID_OF_HOW[found.how]}.")
    leave(Status.LOOK if parcel.lacking else Status.DONE)


SAID_OF_HOW = {
    "around the cache": "read back from the medium itself",
    "cache emptied first": "read back after the system was asked to empty its cache",
    "through the cache": "read back, but this system may have answered from its cache",
}


def _contents(
    made: Planned, recordings: Path | None, roughs: Path | None, pictures: Path | None, *, with_tracks: bool
) -> Contents:
    from fieldfare.handover.parcel import EDITS, PICTURES, SOUNDS, Contents
    from fieldfare.show.consent import read_consents
    from fieldfare.show.drawn import drawing_of
    from fieldfare.show.songs import SONGS_FILE, read_songs
    from fieldfare.takes.alignment.kept import kept_alignment
    from fieldfare.takes.axis import find_axes
    from fieldfare.takes.offload.kept import copies_of, kept_report

    read = made.read
    report = kept_report(read.folder)
    axes: tuple[Axis, ...] = ()
    if with_tracks and (recordings or report):
        axes = find_axes(recordings or copies_of(read.folder, made.plan), drawing_of(made.plan).input)
    songs = read.folder / SONGS_FILE
    return Contents(
        folder=read.folder,
        plan=made.plan,
        show=read.show,
        venue=read.venue,
        kit=read.kit,
        recipes=made.recipes,
        revision=made.revision,
        consents=read_consents(read.folder),
        axes=axes,
        takes=report.take if report else (),
        songs=read_songs(songs) if songs.is_file() else None,
        measured=kept_alignment(read.folder),
        roughs=_files(roughs, read.folder / "roughs", SOUNDS),
        pictures=_files(pictures, read.folder / "pictures", PICTURES),
        edits=_files(pictures, read.folder / "pictures", EDITS),
    )


def _files(named: Path | None, otherwise: Path, endings: tuple[str, ...]) -> tuple[Path, ...]:
    from fieldfare.handover.copies import files_in

    if named is not None and not named.is_dir():
        raise Fault("there is no such folder", str(named), "check its name")
    return files_in(named or otherwise, endings)


def _log(made: Planned, chosen: Receiver, parcel: Parcel) -> None:
    """Keep in the show's store what left, for whom, and what proves it."""
    from uuid import uuid4

    from fieldfare.cli.planned import show_store
    from fieldfare.store.events import Event, add_events

    said = f"{parcel.folder.name}, {parcel.sealed.files} files, tag manifest SHA-512 {parcel.sealed.tag_manifest}"
    event = Event(
        id=str(uuid4()),
        device="fieldfare handover",
        show=made.read.show.title,
        kind="handed over",
        about=chosen.name,
        text=said,
        at=dt.datetime.now(dt.UTC),
    )
    with show_store(made.read.folder) as store:
        add_events(store, [event])


def _as_data(parcel: Parcel, folders: list[Path]) -> dict[str, object]:
    return {
        "folder": [str(folder) for folder in folders],
        "files": parcel.sealed.files,
        "bytes": parcel.sealed.bytes,
        "tag_manifest_sha512": parcel.sealed.tag_manifest,
        "track": [
            {
                "file": one.path.relative_to(parcel.folder).as_posix(),
                "label": one.label,
                "frames": one.frames,
                "rate_hz": one.rate_hz,
                "bits": one.bits,
                "silent": one.silent,
                "samples_sha256": one.sha256,
            }
            for one in parcel.handed
        ],
        "lacking": list(parcel.lacking),
    }


def _tell(parcel: Parcel, chosen: Receiver) -> None:
    say(f"{parcel.folder}, for {chosen.name}: {parcel.sealed.files} files, {parcel.sealed.bytes / 1e9:.2f} GB.")
    say("Every file was read back from the medium and is in the manifest.")
    silent = [one for one in parcel.handed if one.silent]
    if silent:
        say(f"{len(silent)} files hold silence where nothing was recorded: notes.txt says which and how much.")
    for one in parcel.lacking:
        say(f"Not in it: {one}", indent=1, hang=2)


def _tell_receivers(known: tuple[Receiver, ...], contents: Contents) -> None:
    from fieldfare.handover.parcel import refusals

    open_ = False
    for one in known:
        say(f"{one.name}: {one.says}.", hang=2)
        missing = refusals(contents, one, dt.datetime.now(ZoneInfo(contents.venue.zone)).date())
        open_ = open_ or bool(missing)
        for blemish in missing[:3]:
            say(f"not yet: {blemish.read}", indent=2, hang=2)
        if len(missing) > 3:
            say(f"and {len(missing) - 3} more; --for {one.name!r} tells all", indent=2)
    leave(Status.LOOK if open_ else Status.DONE)

"""fieldfare check: every track of a show, or of any folder of recordings, measured and judged."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.cli.rooms import Planned
    from fieldfare.show.findings import TakeReport


def check(
    where: Annotated[Path, typer.Argument(help="A show's folder, or any folder of recordings.")],
    recordings: Annotated[
        Path | None, typer.Option(help="Where the show's recordings lie, if not where they were offloaded to.")
    ] = None,
    mains: Annotated[
        float | None, typer.Option(help="Mains frequency in Hz, where there is no show: 50 or 60.")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="A folder to write track-check.pdf into, a page a take.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write the reports as JSON.")] = False,
) -> None:
    """Check every track: what is dead, clipped, torn, humming, swapped or missing, to the sample."""
    from fieldfare.cli.offload import tell_take
    from fieldfare.cli.progress import Bar
    from fieldfare.takes.tracks import check_folder

    made, folder = _subject(where, recordings)
    plan = made.plan if made else None
    mains_hz = float(made.read.venue.mains.frequency_hz) if made else mains
    with Bar(quiet=as_json) as bar:
        takes = check_folder(folder, plan, mains_hz=mains_hz, tell=lambda share: bar.show("checking", share, 1.0))
    written = print_takes(takes, made, pdf) if pdf else ()
    if as_json:
        show_json({"folder": str(folder), "take": [take.model_dump(mode="json") for take in takes]})
    else:
        say(f"{folder}: {len(takes)} {'take' if len(takes) == 1 else 'takes'}.")
        for take in takes:
            tell_take(take)
        for path in written:
            say(f"Printed {path}.")
    leave(status_of(takes))


def status_of(takes: tuple[TakeReport, ...]) -> Status:
    """Tell whether a track needs a person's eye."""
    troubled = any(finding.severity != "note" for take in takes for finding in take.finding)
    return Status.LOOK if troubled else Status.DONE


def print_takes(takes: tuple[TakeReport, ...], made: Planned | None, folder: Path) -> tuple[Path, ...]:
    """Print the track check, a page a take."""
    from zoneinfo import ZoneInfo

    from fieldfare.sheets.takes import write_takes

    if made is None:
        return write_takes(takes, folder, paper="a4", printed=dt.datetime.now())
    read = made.read
    now = dt.datetime.now(ZoneInfo(read.venue.zone))
    return write_takes(
        takes, folder, paper="a4", printed=now, revision=made.revision, show=read.show, venue=read.venue, plan=made.plan
    )


def _subject(where: Path, recordings: Path | None) -> tuple[Planned | None, Path]:
    from fieldfare.cli.rooms import planned
    from fieldfare.show.toml import SHOW_FILE
    from fieldfare.takes.offload.kept import copies_of

    if where.is_dir() and not (where / SHOW_FILE).is_file():
        if recordings:
            raise Fault("--recordings goes with a show", str(where), f"there is no {SHOW_FILE}; name the folder alone")
        return None, where
    made = planned(where)
    return made, recordings or copies_of(made.read.folder, made.plan)

"""fieldfare check: every track of a show, or of any folder of recordings, measured and judged."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.show.findings import TakeReport
    from fieldfare.show.plan import Plan


def check(
    where: Annotated[Path, typer.Argument(help="A show's folder, or any folder of recordings.")],
    recordings: Annotated[
        Path | None, typer.Option(help="Where the show's recordings lie, if not where they were offloaded to.")
    ] = None,
    mains: Annotated[
        float | None, typer.Option(help="Mains frequency in Hz, where there is no show: 50 or 60.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write the reports as JSON.")] = False,
) -> None:
    """Check every track: what is dead, clipped, torn, humming, swapped or missing, to the sample."""
    from fieldfare.cli.offload import tell_take
    from fieldfare.cli.watch import Bar
    from fieldfare.takes.tracks import check_folder

    folder, plan, mains_hz = _subject(where, recordings, mains)
    with Bar(quiet=as_json) as bar:
        takes = check_folder(folder, plan, mains_hz=mains_hz, tell=lambda share: bar.show("checking", share, 1.0))
    if as_json:
        show_json({"folder": str(folder), "take": [take.model_dump(mode="json") for take in takes]})
    else:
        say(f"{folder}: {len(takes)} {'take' if len(takes) == 1 else 'takes'}.")
        for take in takes:
            tell_take(take)
    leave(status_of(takes))


def status_of(takes: tuple[TakeReport, ...]) -> Status:
    """Tell whether a track needs a person's eye."""
    troubled = any(finding.severity != "note" for take in takes for finding in take.finding)
    return Status.LOOK if troubled else Status.DONE


def _subject(where: Path, recordings: Path | None, mains: float | None) -> tuple[Path, Plan | None, float | None]:
    from fieldfare.show.toml import SHOW_FILE

    if where.is_dir() and not (where / SHOW_FILE).is_file():
        if recordings:
            raise Fault("--recordings goes with a show", str(where), f"there is no {SHOW_FILE}; name the folder alone")
        return where, None, mains
    from fieldfare.cli.rooms import planned

    made = planned(where)
    return recordings or _copies(made.read.folder, made.plan), made.plan, float(made.read.venue.mains.frequency_hz)


def _copies(folder: Path, plan: Plan) -> Path:
    """Find where the show's recordings were offloaded to: the first place that is there."""
    from fieldfare.cli.offload import TAKES, copies_name
    from fieldfare.show.findings import OffloadReport

    kept = folder / TAKES / "offload.json"
    if not kept.is_file():
        raise Fault("nothing was offloaded yet", str(folder), "run fieldfare offload, or name them with --recordings")
    report = OffloadReport.model_validate_json(kept.read_text("utf-8"))
    places = [Path(place) / copies_name(plan) for place in report.destination]
    there = next((place for place in places if place.is_dir()), None)
    if there is None:
        raise Fault(
            "none of the places it was offloaded to is there", str(folder), "connect the disc, or use --recordings"
        )
    return there

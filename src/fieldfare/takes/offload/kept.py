"""Where an offload's copies and its report lie: what they are called, and how they are found again."""

from __future__ import annotations

from pathlib import Path

from fieldfare.show.files import write_whole
from fieldfare.show.findings import OffloadReport
from fieldfare.show.kept import read_kept
from fieldfare.show.plan import Plan
from fieldfare.units.faults import Fault
from fieldfare.units.text import slug

TAKES = "takes"
REPORT = "offload.json"


def copies_name(plan: Plan) -> str:
    """Return what the folder of copies is called at every place."""
    return f"{plan.date:%Y-%m-%d}-{slug(plan.title)}"


def keep_report(folder: Path, report: OffloadReport) -> None:
    """Keep an offload's report in the show's folder.

    Raises
    ------
    NotDone
        It cannot be written there.
    """
    (folder / TAKES).mkdir(exist_ok=True)
    write_whole(folder / TAKES / REPORT, report.model_dump_json(indent=1).encode(), replace=True)


def kept_report(folder: Path) -> OffloadReport | None:
    """Return the report of a show's latest offload; None where nothing was offloaded.

    Raises
    ------
    Fault
        The file is there and is no such report.
    """
    remedy = "offload again, which writes it anew"
    return read_kept(folder / TAKES / REPORT, OffloadReport, "this is not the report of an offload", remedy)


def copies_of(folder: Path, plan: Plan) -> Path:
    """Find where a show's recordings were offloaded to: the first place that is there.

    Raises
    ------
    Fault
        Nothing was offloaded, or none of the places is there.
    """
    report = kept_report(folder)
    if report is None:
        raise Fault("nothing was offloaded yet", str(folder), "run fieldfare offload, or name them with --recordings")
    places = [Path(place) / copies_name(plan) for place in report.destination]
    there = next((place for place in places if place.is_dir()), None)
    if there is None:
        raise Fault(
            "none of the places it was offloaded to is there", str(folder), "connect the disc, or use --recordings"
        )
    return there

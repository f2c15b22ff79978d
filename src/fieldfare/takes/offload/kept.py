"""Where an offload's copies and its report lie: what they are called, and how they are found again."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fieldfare.show.files import write_whole
from fieldfare.show.findings import OffloadReport, TakeReport
from fieldfare.show.kept import read_kept
from fieldfare.show.plan import Plan
from fieldfare.takes.offload.place import free_name
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import listed, slug

TAKES = "takes"
REPORT = "offload.json"


def copies_name(plan: Plan) -> str:
    """Return what the folder of copies is called at every place."""
    return f"{plan.date:%Y-%m-%d}-{slug(plan.title)}"


def keep_report(folder: Path, plan: Plan, report: OffloadReport) -> OffloadReport:
    """Keep an offload's report in the show's folder, with what earlier cards brought to the same places.

    Returns
    -------
    The report as it was given; where the one that was kept before could not be read and was put aside, that is noted.

    Raises
    ------
    NotDone
        It cannot be written there.
    """
    try:
        earlier = kept_report(folder)
    except Fault:
        earlier, report = None, _noted(report, _put_aside(folder / TAKES / REPORT))
    alone = report
    if earlier is not None and earlier.destination == report.destination:
        report = _joined(earlier, report, [Path(place) / copies_name(plan) for place in report.destination])
    (folder / TAKES).mkdir(exist_ok=True)
    write_whole(folder / TAKES / REPORT, report.model_dump_json(indent=1).encode(), replace=True)
    return alone


def _put_aside(file: Path) -> Path:
    """Keep what nobody can read, in case somebody can: it may be all that tells of an earlier card."""
    try:
        return file.rename(free_name(file, "damaged"))
    except OSError as error:
        why = (error.strerror or "the system refused").lower()
        raise NotDone(
            f"is no report and cannot be put aside: {why}", str(file), "see to the rights of its folder"
        ) from error


def _noted(report: OffloadReport, aside: Path) -> OffloadReport:
    says = (
        f"the report kept before could not be read and is now {aside.name}; what it said of earlier cards is not here"
    )
    return report.model_copy(update={"notes": (*report.notes, says)})


def kept_report(folder: Path) -> OffloadReport | None:
    """Return the report of a show's latest offload; None where nothing was offloaded.

    Raises
    ------
    Fault
        The file is there and is no such report.
    """
    remedy = "offload again, which writes it anew"
    return read_kept(folder / TAKES / REPORT, OffloadReport, "this is not the report of an offload", remedy)


def _joined(earlier: OffloadReport, report: OffloadReport, copies: Sequence[Path]) -> OffloadReport:
    """Add to a report the files and takes of earlier cards that it does not speak of and that still lie there."""
    told = {file.path for file in report.file}
    files = tuple(
        file
        for file in earlier.file
        if file.path not in told and any((folder / file.path).is_file() for folder in copies)
    )
    lying = {file.path for file in files}
    missing = tuple(one for one in earlier.missing if any(one.startswith(f"{path} ") for path in lying))
    return report.model_copy(
        update={
            "file": (*files, *report.file),
            "take": (*(take for take in earlier.take if _within(take, lying)), *report.take),
            "complete": report.complete and not missing and all(len(file.read_back) > 1 for file in files),
            "missing": (*report.missing, *missing),
        }
    )


def _within(take: TakeReport, paths: set[str]) -> bool:
    return bool(take.file) and all(state.path in paths for state in take.file)


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
        what = f"none of the places it was offloaded to is there: {listed(report.destination)}"
        raise Fault(what, str(folder), "connect the disc, or name where the copies lie with --recordings")
    return there

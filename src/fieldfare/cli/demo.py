"""fieldfare demo: the whole way once, on a show of our own invention, beside the truth."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from shutil import copytree
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, heading, leave, say
from fieldfare.units.faults import NotDone
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from fieldfare.cli.planned import Planned
    from fieldfare.show.findings import Finding, OffloadReport, TakeReport
    from fieldfare.takes.render.truth import Truth

PLACES = ("disc-a", "disc-b")


def demo(
    folder: Annotated[Path, typer.Argument(help="Where; made new. Needs about 1.5 GB.")] = Path("demo"),
    seconds: Annotated[float, typer.Option(min=20, max=3600, help="Length of the recording.")] = 150.0,
) -> None:
    """Plan the demo show, print its sheets, record it, offload it and check every track against the truth."""
    from fieldfare.cli.check import print_page, print_takes
    from fieldfare.cli.planned import planned
    from fieldfare.cli.recorded import printing_of
    from fieldfare.cli.sheets import print_sheets

    if folder.exists() and any(folder.iterdir() if folder.is_dir() else [folder]):
        raise NotDone("the folder is not empty", str(folder), "name another, or take this one away")
    with as_file(files("fieldfare.show") / "demo") as documents:
        copytree(
            documents, folder / "show", ignore=lambda _, names: [name for name in names if not name.endswith(".toml")]
        )
    made = planned(folder / "show")
    say(f"{made.plan.title}: everything in it is invented.")
    say(f"Plan: {made.plan.kept} of {made.plan.wanted} inputs kept on {len(made.plan.input)} tracks.")
    sheets = print_sheets(made, made.read.folder / "sheets")
    say(f"Sheets: {len(sheets)} PDFs in {folder / 'show' / 'sheets'}.")
    truth = _record(made, folder, seconds)
    say(f"Recording: {len(truth.track)} tracks in {folder / truth.card}.")
    report = _copy(made, folder / truth.card, folder)
    say(f"Offload: {len(report.file)} files copied to {listed(PLACES)} and read back.")
    say("Both lie on one disc here, so the program will not call the card safe to wipe.", indent=1)
    papers = folder / "show" / "sheets"
    printing = printing_of(made)
    print_takes(report.take, printing, papers, folder / truth.card)
    print_page(report.take, printing, papers, folder / truth.card)
    _judge(report.take, truth)
    _where_to_look(folder)
    leave(Status.DONE if _differences(report.take, truth) == ([], []) else Status.LOOK)


def _record(made: Planned, folder: Path, seconds: float) -> Truth:
    from fieldfare.cli.progress import Bar
    from fieldfare.plan.inputs import soundings
    from fieldfare.takes.render.write import render_show

    read = made.read
    sounding = soundings(read.show, read.venue, made.recipes)
    with Bar() as bar:
        return render_show(
            made.plan,
            read.show,
            read.venue,
            read.kit,
            sounding,
            folder,
            duration_s=seconds,
            progress=lambda share: bar.show("recording", share, 1.0),
        )


def _copy(made: Planned, card: Path, folder: Path) -> OffloadReport:
    from fieldfare.cli.progress import Bar
    from fieldfare.takes.offload.checked import offload_show

    places = [(folder / name).resolve() for name in PLACES]
    for place in places:
        place.mkdir()
    with Bar() as bar:
        return offload_show(
            card,
            places,
            made.read.folder,
            made.plan,
            float(made.read.venue.mains.frequency_hz),
            same_device=True,
            tell=lambda now: bar.show(now.stage, now.done_bytes, now.total_bytes),
        )


def _judge(takes: tuple[TakeReport, ...], truth: Truth) -> None:
    from fieldfare.cli.offload import tell_take

    for take in takes:
        tell_take(take)
    missed, more = _differences(takes, truth)
    heading(f"Against the truth: {len(truth.fault)} faults were put in, {len(truth.fault) - len(missed)} found.")
    for text in (*missed, *more):
        say(text, indent=1, hang=2)
    if not more:
        say("Nothing else was reported as a fault.", indent=1)


def _differences(takes: tuple[TakeReport, ...], truth: Truth) -> tuple[list[str], list[str]]:
    """Faults that were put in and not found, and findings that are no fault that was put in."""
    found = [finding for take in takes for finding in take.finding if finding.severity != "note"]
    labels = {(fault.kind, fault.label) for fault in truth.fault} | {(fault.kind, fault.of) for fault in truth.fault}
    names = {track.input: track.label for track in truth.track}
    labels |= {(kind, names.get(label, label)) for kind, label in labels}
    missed = [
        f"not found: {fault.kind} in {fault.label}"
        for fault in truth.fault
        if not any(_fits(finding, fault.kind, {fault.label, names.get(fault.of, fault.of)}) for finding in found)
    ]
    more = [
        f"not put in: {finding.says}"
        for finding in found
        if not any(_fits(finding, kind, {label}) for kind, label in labels)
    ]
    return missed, more


def _fits(finding: Finding, kind: str, labels: set[str]) -> bool:
    return finding.kind == kind and finding.track in labels


def _where_to_look(folder: Path) -> None:
    heading("Where to look")
    for path, what in (
        ("show/show.toml", "who plays; change it, then fieldfare plan again"),
        ("show/sheets", "what goes on stage, and the track check on paper"),
        ("show/sheets/track-check.html", "the same on a screen, with every track over time"),
        ("show/takes/offload.json", "what lies where, and every track as measured"),
        ("truth.json", "what was put into the recording"),
    ):
        say(f"{folder / path}: {what}", indent=1, hang=2)

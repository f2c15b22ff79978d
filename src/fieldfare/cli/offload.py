"""fieldfare offload: a card copied to safe places, each copy read back, every track measured on the way."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, heading, leave, say, show_json
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from fieldfare.show.findings import OffloadReport, TakeReport


def offload(
    card: Annotated[Path, typer.Argument(help="The card, or the folder on it that holds the recordings.")],
    show: Annotated[Path, typer.Argument(help="The show's folder: its plan tells what each track should be.")],
    to: Annotated[list[Path], typer.Option(help="A folder to copy into; give two, on different devices.")],
    same_device: Annotated[
        bool, typer.Option("--same-device", help="Copy even where places share a device; never called safe.")
    ] = False,
    recheck: Annotated[bool, typer.Option("--recheck", help="Read every copy back once more.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Write the report as JSON.")] = False,
) -> None:
    """Copy a card in one reading, read every copy back and check every track. Call it again to go on."""
    from fieldfare.cli.planned import planned
    from fieldfare.cli.progress import Bar
    from fieldfare.takes.offload.checked import offload_show

    if len(to) < 2 and not same_device:
        raise Fault("one copy is not safe", "--to", "name two folders on different devices: --to A --to B")
    made = planned(show)
    with Bar(quiet=as_json) as bar:
        report = offload_show(
            card,
            to,
            made.read.folder,
            made.plan,
            float(made.read.venue.mains.frequency_hz),
            same_device=same_device,
            recheck=recheck,
            tell=lambda now: bar.show(now.stage, now.done_bytes, now.total_bytes),
        )
    if as_json:
        show_json(report)
    else:
        tell(report)
    leave(status_of(report))


def status_of(report: OffloadReport) -> Status:
    """Tell whether an offload needs a person's eye."""
    troubled = any(finding.severity != "note" for take in report.take for finding in take.finding)
    return Status.DONE if report.complete and not troubled else Status.LOOK


def tell(report: OffloadReport) -> None:
    """Say what lies where, what is missing, and what was found in the tracks."""
    size = sum(file.bytes for file in report.file)
    say(f"{len(report.file)} files, {size / 1e9:.2f} GB, from {report.card} to {listed(report.destination)}.")
    equal = min((sum(place in file.read_back for file in report.file) for place in report.destination), default=0)
    say(f"{equal} of {len(report.file)} files were read back equal from every place.")
    for file in report.file:
        for trouble in file.trouble:
            say(f"{file.path}: {trouble}", indent=1, hang=2)
    if report.complete:
        say("Two copies on different devices were read back equal.")
    else:
        say("Not safe to wipe the card:")
        for missing in report.missing:
            say(missing, indent=1, hang=2)
    for note in report.notes:
        say(f"Note: {note}.", hang=2)
    for take in report.take:
        tell_take(take)


def tell_take(take: TakeReport) -> None:
    """Say what was found in a take, the worst first."""
    from fieldfare.units.clock import clock

    count = len(take.track)
    length = f", {clock(take.length_s)} at {take.rate_hz / 1000:g} kHz" if take.rate_hz else ""
    heading(f"{take.take}: {count} track{'' if count == 1 else 's'}{length}")
    troubles = [finding for finding in take.finding if finding.severity != "note"]
    notes = [finding for finding in take.finding if finding.severity == "note"]
    for finding in (*troubles, *notes):
        say(f"{finding.severity}  {finding.track or finding.file or take.take}: {finding.says}", indent=1, hang=6)
        say(finding.remedy, indent=7)
    if not troubles:
        say("Nothing was found wrong." if take.track else "There are no tracks.", indent=1)
    for text in take.not_known:
        say(f"Not known: {text}", indent=1, hang=2)

"""fieldfare align: delays and polarity between tracks that hear the same, held against the drawing; shifts if asked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import Inputs, OneTake, Paper, PaperSize, PapersSpeak, Recordings, ShowOrFolder, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json, table
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure, listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldfare.show.alignment import Alignment, PairDelay, ShiftReport, TakeAlignment
    from fieldfare.takes.axis import Axis


def align(
    where: ShowOrFolder,
    recordings: Recordings = None,
    inputs: Inputs = None,
    take: OneTake = "",
    temperature: Annotated[
        float | None, typer.Option(min=-20, max=50, help="Of the air on the night, in °C, where it is known better.")
    ] = None,
    spill: Annotated[bool, typer.Option("--spill", help="Tell of every source in every mic.")] = False,
    offer: Annotated[Path | None, typer.Option(help="A new file for the shifts that are offered, TOML.")] = None,
    shifts: Annotated[Path | None, typer.Option(help="Such a file, to be applied; nothing is measured.")] = None,
    to: Annotated[Path | None, typer.Option(help="A new folder for the shifted tracks.")] = None,
    pdf: Annotated[Path | None, typer.Option(help="A folder to write alignment.pdf into.")] = None,
    paper: PaperSize = Paper.a4,
    language: PapersSpeak = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write delays and findings as JSON.")] = False,
) -> None:
    """Measure delays and polarity between tracks, find mics that moved and labels that were swapped."""
    from fieldfare.cli.recorded import printing_of, recorded, takes_of
    from fieldfare.sheets.alignment import write_align_sheet
    from fieldfare.takes.alignment.kept import keep_alignment

    found = recorded(where, recordings, inputs)
    axes = takes_of(found, take)
    if shifts or to:
        _apply(axes, shifts, to, as_json=as_json)
    said_c = found.temperature_c if temperature is None else temperature
    measured = _measured(axes, said_c, found.title, quiet=as_json)
    if offer:
        _offer(measured, offer)
    kept = keep_alignment(found.made.read.folder, measured, beside=bool(take)) if found.made else None
    written = write_align_sheet(measured, pdf, printing_of(found.made, paper.value, language.value)) if pdf else ()
    if as_json:
        show_json(measured)
    else:
        for one in measured.take:
            tell_take(one, spill=spill)
        if offer:
            say(f"The shifts offered lie in {offer}. Alter them, then: --shifts {offer} --to FOLDER")
        if kept:
            say(f"Kept in {kept}, for the track sheet of a parcel.")
        for path in written:
            say(f"Printed {path}.")
    leave(status_of(measured))


def status_of(measured: Alignment) -> Status:
    """Tell whether anything needs a person's eye."""
    return Status.LOOK if any(one.severity == "warn" for take in measured.take for one in take.finding) else Status.DONE


def _measured(axes: Sequence[Axis], temperature_c: float | None, title: str, *, quiet: bool) -> Alignment:
    from fieldfare.cli.progress import Bar
    from fieldfare.show.alignment import Alignment
    from fieldfare.takes.alignment.align import align as align_take

    takes = []
    with Bar(quiet=quiet) as bar:
        for axis in axes:
            takes.append(align_take(axis, temperature_c, lambda share: bar.show("listening", share, 1.0)))
    return Alignment(show=title, take=tuple(takes))


def _offer(measured: Alignment, path: Path) -> None:
    from fieldfare.show.alignment import REMARK, ShiftList
    from fieldfare.show.write_toml import write_toml

    if len(measured.take) > 1:
        raise Fault(f"there are {len(measured.take)} takes, and a list is of one", "--offer", "name one with --take")
    one = measured.take[0]
    write_toml(ShiftList(take=one.take, rate_hz=one.rate_hz, shift=one.shift), path, REMARK)


def _apply(axes: Sequence[Axis], shifts: Path | None, to: Path | None, *, as_json: bool) -> None:
    from fieldfare.cli.progress import Bar
    from fieldfare.show.alignment import read_shifts
    from fieldfare.takes.alignment.apply import apply_shifts

    if shifts is None or to is None:
        raise Fault("--shifts and --to go together", "the command", "name the list of shifts and a new folder")
    wanted = read_shifts(shifts)
    axis = next((one for one in axes if one.name == wanted.take), axes[0])
    with Bar(quiet=as_json) as bar:
        report = apply_shifts(axis, wanted, to, lambda share: bar.show("writing", share, 1.0))
    if as_json:
        show_json(report)
    else:
        _tell_files(report)
    leave(Status.DONE)


def _tell_files(report: ShiftReport) -> None:
    say(f"{len(report.file)} new files in {report.folder}, each read back; the recordings were only read.")
    for one in report.file:
        how = "bit for bit" if one.exact else "new samples, for the fraction"
        turned = ", turned over" if one.flip else ""
        say(f"{one.file}: {later(one.samples)}{turned}, {how}", indent=1, hang=2)


def later(samples: float) -> str:
    """Say by how much something is put later or earlier.

    >>> later(12.5), later(-3.0)
    ('12.50 samples later', '3 samples earlier')
    """
    count = figure(abs(samples), 0 if float(samples).is_integer() else 2)
    return f"{count} samples {'earlier' if samples < 0 else 'later'}"


def tell_take(take: TakeAlignment, *, spill: bool = False) -> None:
    """Say what was found in a take: what to look at, delays, shifts."""
    from fieldfare.takes.alignment.sureness import SURE
    from fieldfare.units.clock import clock

    sure = sum(pair.confidence >= SURE for pair in take.pair)
    heading(f"{take.take}: {clock(take.frames / take.rate_hz)} at {take.rate_hz / 1000:g} kHz")
    say(f"{len(take.pair)} ways from a source to a mic were measured, {sure} of them surely.", indent=1)
    for one in take.finding:
        say(f"{one.severity}  {listed(one.track)}: {one.says}", indent=1, hang=6)
        say(one.remedy, indent=7)
    if not take.finding:
        say("Nothing contradicts what was drawn." if take.fitted else "Nothing was found wrong.", indent=1)
    shown = [pair for pair in take.pair if spill or _by_default(pair, take)]
    if shown:
        heading(" How much later b hears it than a, in samples")
        _tell_pairs(shown)
    if take.shift:
        heading(" Shifts that are offered; nothing was changed")
        for shift in take.shift:
            turned = "turned over" if shift.flip else ""
            what = listed([text for text in (later(shift.samples) if shift.samples else "", turned) if text])
            say(f"{'apply' if shift.apply else 'taste'}  {shift.track}: {what}; {shift.why}", indent=2, hang=7)
    for text in take.not_known:
        say(f"Not known: {text}", indent=1, hang=2)


def _by_default(pair: PairDelay, take: TakeAlignment) -> bool:
    """Whether a pair is told without being asked for: what shares a source, and what a shift rests on."""
    from fieldfare.show.alignment import OWN_SOURCE

    if pair.kind in OWN_SOURCE:
        return True
    return any({shift.track, shift.against} == {pair.a, pair.b} for shift in take.shift)


def _tell_pairs(pairs: Sequence[PairDelay]) -> None:
    rows = [
        (
            pair.a,
            pair.b,
            f"{pair.delay:.2f}",
            "" if pair.drawn is None else f"{pair.drawn:.0f}",
            "reversed" if pair.polarity < 0 else "",
            f"{min(99, round(100 * pair.confidence))} %",
        )
        for pair in pairs
    ]
    table(
        (" a", "b", "later", "drawn", "polarity", "sure"),
        [(f" {a}", *rest) for a, *rest in rows],
        (23, 20, -8, -6, 8, -5),
    )

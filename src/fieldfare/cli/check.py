"""fieldfare check: every track of a show, or of any folder of recordings, measured and judged."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import Paper, PaperSize, PapersSpeak, Recordings, ShowOrFolder, Tongue
from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.cli.planned import Planned
    from fieldfare.cli.progress import Bar
    from fieldfare.sheets.head import Printing
    from fieldfare.show.findings import TakeReport
    from fieldfare.show.inputs_csv import ListedInput
    from fieldfare.takes.closeup import CloseUp


def check(
    where: ShowOrFolder,
    recordings: Recordings = None,
    mains: Annotated[
        float | None, typer.Option(min=45, max=65, help="Mains frequency in Hz, where there is no show: 50 or 60.")
    ] = None,
    inputs: Annotated[
        Path | None,
        typer.Option(
            help="A spreadsheet of the inputs, where there is no show: channel, source, kind, pattern, x, y, z."
        ),
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="A folder to write track-check.pdf into, a page a take.")] = None,
    html: Annotated[
        Path | None, typer.Option(help="A folder to write track-check.html into: plots and findings for a screen.")
    ] = None,
    paper: PaperSize = Paper.a4,
    language: PapersSpeak = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write the reports as JSON.")] = False,
) -> None:
    """Check every track: what is dead, clipped, torn, humming, swapped or missing, to the sample."""
    from fieldfare.cli.offload import tell_take
    from fieldfare.cli.progress import Bar
    from fieldfare.cli.recorded import printing_of
    from fieldfare.takes.tracks import check_folder

    made, folder = _subject(where, recordings)
    plan = made.plan if made else None
    listed = _listed(inputs, made, where)
    mains_hz = float(made.read.venue.mains.frequency_hz) if made else mains
    with Bar(quiet=as_json) as bar:
        tell = partial(_tell, bar)
        takes = check_folder(folder, plan, mains_hz=mains_hz, tell=tell, inputs=listed)
    printing = printing_of(made, paper.value, language.value)
    written = (
        *(print_takes(takes, printing, pdf, folder) if pdf else ()),
        *(print_page(takes, printing, html, folder) if html else ()),
    )
    if as_json:
        show_json({"folder": str(folder), "take": [take.model_dump(mode="json") for take in takes]})
    else:
        say(f"{folder}: {len(takes)} {'take' if len(takes) == 1 else 'takes'}.")
        for take in takes:
            tell_take(take)
        for path in written:
            say(f"Wrote {path}.")
    leave(status_of(takes))


def status_of(takes: tuple[TakeReport, ...]) -> Status:
    """Tell whether a track needs a person's eye."""
    troubled = any(finding.severity != "note" for take in takes for finding in take.finding)
    return Status.LOOK if troubled else Status.DONE


def print_takes(
    takes: tuple[TakeReport, ...], printing: Printing, folder: Path, recordings: Path | None = None
) -> tuple[Path, ...]:
    """Print the track check, a page a take; with the sound around the gravest findings where recordings are named."""
    from fieldfare.sheets.takes import write_takes

    return write_takes(takes, folder, printing, _near(takes, recordings))


def print_page(takes: tuple[TakeReport, ...], printing: Printing, folder: Path, recordings: Path) -> tuple[Path, ...]:
    """Write the track check as a page for a screen."""
    from fieldfare.sheets.takes_page import write_takes_page

    return write_takes_page(takes, folder, printing, _near(takes, recordings))


def _near(takes: tuple[TakeReport, ...], recordings: Path | None) -> dict[str, tuple[CloseUp, ...]]:
    from fieldfare.takes.closeup import closeups

    return {take.take: closeups(take, recordings) for take in takes} if recordings else {}


def _tell(bar: Bar, share: float) -> None:
    bar.show("checking", share, 1.0)


def _listed(inputs: Path | None, made: Planned | None, where: Path) -> tuple[ListedInput, ...]:
    """Read the inputs of a folder that has no plan."""
    from fieldfare.show.inputs_csv import read_inputs

    if inputs is None:
        return ()
    if made is not None:
        raise Fault("--inputs goes without a show", str(where), "leave it out: the plan has its own inputs")
    return read_inputs(inputs, str(inputs)).input


def _subject(where: Path, recordings: Path | None) -> tuple[Planned | None, Path]:
    from fieldfare.cli.planned import planned
    from fieldfare.show.toml import SHOW_FILE
    from fieldfare.takes.offload.kept import copies_of

    if where.is_dir() and not (where / SHOW_FILE).is_file():
        if recordings:
            raise Fault("--recordings goes with a show", str(where), f"there is no {SHOW_FILE}; name the folder alone")
        return None, where
    made = planned(where)
    return made, recordings or copies_of(made.read.folder, made.plan)

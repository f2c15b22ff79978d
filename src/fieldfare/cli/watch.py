"""fieldfare watch: a folder that any program records into, watched from outside."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, leave, say
from fieldfare.units.clock import clock
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.show.plan import Plan
    from fieldfare.takes.watch import Event, LineCheck


def watch(
    folder: Annotated[Path, typer.Argument(help="The folder that is recorded into. It is only read.")],
    show: Annotated[Path | None, typer.Argument(help="The show's folder: its plan tells what should be there.")] = None,
    line_check: Annotated[
        Path | None, typer.Option("--line-check", help="Levels kept at line check, to compare with.")
    ] = None,
    keep: Annotated[Path | None, typer.Option(help="A file to keep the levels in, at line check.")] = None,
    inputs: Annotated[Path | None, typer.Option(help="A spreadsheet of the inputs, where there is no show.")] = None,
    every: Annotated[float, typer.Option(min=0.1, max=60, help="Seconds between two looks.")] = 2.0,
    seconds: Annotated[float | None, typer.Option("--for", min=0, help="End after so many seconds.")] = None,
    once: Annotated[bool, typer.Option("--once", help="Look twice, one interval apart, and end.")] = False,
    sizes_only: Annotated[
        bool, typer.Option("--sizes-only", help="Read no audio: only sizes, times and headers.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Write each event as one line of JSON.")] = False,
) -> None:
    """Watch what any program records: growth, room on the disc, and every channel. Ctrl-C ends it."""
    from fieldfare.show.files import write_whole
    from fieldfare.show.inputs_csv import read_inputs
    from fieldfare.takes.watch import Reader, Watching, begin, line_check_of, wanted_of, wanted_of_inputs

    if keep is not None:
        _refuse(keep, folder)
    if show is not None and inputs is not None:
        raise Fault("--inputs goes without a show", str(show), "leave one of the two: the plan has its own inputs")
    plan = _plan(show) if show else None
    listed = read_inputs(inputs, str(inputs)).input if inputs else ()
    wanted = wanted_of(plan) if plan else wanted_of_inputs(listed) if listed else None
    start = begin(wanted, _levels(line_check) if line_check else None)
    reader = Reader(folder, plan.input if plan else listed, sizes_only=sizes_only)
    watching = Watching(reader, start, every_s=every, for_s=every if once else seconds)
    with contextlib.suppress(KeyboardInterrupt):
        for event in watching:
            _tell(event, as_json)
    if keep is not None:
        write_whole(keep, line_check_of(watching.watch).model_dump_json(indent=1).encode(), replace=True)
    _tell(watching.summary(), as_json)
    count = watching.watch.count
    leave(Status.LOOK if count.get("stop", 0) + count.get("warn", 0) else Status.DONE)


def _refuse(keep: Path, folder: Path) -> None:
    """Stop before hours of watching where the levels could not be kept after them."""
    if Path(os.path.realpath(keep)).is_relative_to(os.path.realpath(folder)):
        raise Fault("lies in the folder that is watched", str(keep), "keep the levels somewhere else")
    if keep.is_dir() or not keep.parent.is_dir():
        raise Fault("is no file that can be written", str(keep), "name a file in a folder that is there")


def _tell(event: Event, as_json: bool) -> None:
    if as_json:
        typer.echo(event.model_dump_json())
        return
    remedy = f"; {event.remedy}" if event.remedy else ""
    say(f"{clock(event.after_s)}  {event.severity}  {event.says}{remedy}.", hang=15)


def _plan(show: Path) -> Plan:
    """Make the plan without keeping a revision: a watch writes nothing."""
    from fieldfare.plan.make import make_plan
    from fieldfare.plan.recipes import show_recipes
    from fieldfare.show.toml import read_show

    read = read_show(show)
    return make_plan(read.show, read.venue, read.kit, read.digest, show_recipes(read.folder))


def _levels(path: Path) -> LineCheck:
    from pydantic import ValidationError

    from fieldfare.takes.watch import LineCheck

    remedy = "name a file that --keep wrote at line check"
    try:
        return LineCheck.model_validate_json(path.read_bytes())
    except OSError as error:
        raise Fault(f"cannot be read ({error.strerror})", str(path), remedy) from error
    except ValidationError as error:
        raise Fault("holds no levels of a line check", str(path), remedy) from error

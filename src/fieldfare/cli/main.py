"""The command `fieldfare`: which commands there are, and how a fault reaches a person."""

from __future__ import annotations

import datetime as dt
import errno
import io
import json
import os
import sys
import tempfile
import traceback
from pathlib import Path

import typer
from typer.exceptions import TyperException

import fieldfare
from fieldfare.cli import (
    align,
    archive,
    bag,
    bills,
    check,
    consent,
    demo,
    desk,
    handover,
    kit,
    letters,
    mend,
    new,
    offload,
    picture,
    plan,
    recipes,
    rough,
    schema,
    sheets,
    songs,
    watch,
    whatif,
)
from fieldfare.cli.say import Status, say_wrong
from fieldfare.cli.wrong import fault_of
from fieldfare.units.faults import BadDocuments, Fault, NotDone

_OUTSIDE = {  # what a system refuses, and what a person can do
    errno.ENOSPC: "make room and try again",
    errno.EDQUOT: "make room and try again",
    errno.EACCES: "see to its rights, or name another",
    errno.EPERM: "see to its rights, or name another",
    errno.EROFS: "name another place",
    errno.ENAMETOOLONG: "name a shorter one",
    errno.ELOOP: "name the file itself",
    errno.EIO: "try another reader, cable or copy",
    errno.ENODEV: "see that its disc is there, and try again",
}
STOPPED = 130  # what the parser makes of Ctrl+C in a command

app = typer.Typer(
    name="fieldfare",
    help="Plan, rig, record, prove and hand over a live multitrack recording.",
    epilog="Exit status: 0 as asked; 1 done, and something needs a person's eye; 2 the request was wrong; "
    "3 it could not be done, and nothing was changed.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback(invoke_without_command=True)
def _top(
    version: bool = typer.Option(False, "--version", help="Say which version this is, and end.", is_eager=True),
) -> None:
    if version:
        typer.echo(f"fieldfare {fieldfare.__version__}")
        raise typer.Exit(0)


app.command("new")(new.new)
app.add_typer(kit.app, name="kit")
app.command("recipes")(recipes.recipes)
app.command("plan")(plan.plan)
app.command("whatif")(whatif.whatif)
app.command("sheets")(sheets.sheets)
app.command("offload")(offload.offload)
app.command("check")(check.check)
app.command("align")(align.align)
app.command("rough")(rough.rough)
app.command("watch")(watch.watch)
app.command("mend")(mend.mend)
app.command("songs")(songs.songs)
app.command("picture")(picture.picture)
app.command("letters")(letters.letters)
app.command("answer")(letters.answer)
app.command("consent")(consent.consent)
app.command("handover")(handover.handover)
app.add_typer(bag.app, name="bag")
app.add_typer(archive.app, name="archive")
app.command("quote")(bills.quote)
app.command("invoice")(bills.invoice)
app.command("desk")(desk.desk)
app.command("schema")(schema.schema)
app.command("demo")(demo.demo)


def run() -> None:
    """Run one command and turn whatever goes wrong into one sentence and an exit status."""
    _let_every_letter_through()
    as_json = "--json" in sys.argv
    try:
        status = app(prog_name=app.info.name, standalone_mode=False)
        if status == STOPPED:
            raise KeyboardInterrupt
    except Fault as fault:
        status = _tell(fault, as_json)
    except (typer.Abort, KeyboardInterrupt):
        typer.echo(fieldfare.STOPPED_BY_HAND, err=True)
        status = Status.NOT_DONE
    except TyperException as wrong:
        status = _tell_wrong(wrong, as_json)
    except Exception as broken:
        status = _tell(_unforeseen(broken), as_json)
    sys.exit(int(status or 0))


def _let_every_letter_through() -> None:
    """Write UTF-8 into files and to other programs, whatever old code page a system has; a terminal shows what it can.

    Bytes of a file's name that are no text are written out as an escape, which JSON reads too.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            if stream.isatty():
                stream.reconfigure(errors="replace")
            else:
                stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def _tell_wrong(wrong: TyperException, as_json: bool) -> Status:
    """Tell what was wrong with the words of a command; where there were none, what it knows."""
    if type(wrong).__name__ == "NoArgsIsHelpError":  # the parser gives no other sign of it
        typer.echo(wrong.format_message())
        return Status.WRONG
    return _tell(fault_of(wrong), as_json)


def _tell(fault: Fault, as_json: bool) -> Status:
    try:
        if as_json:
            typer.echo(json.dumps({"fault": _as_data(fault)}, indent=1, ensure_ascii=False))
        else:
            _say_each(fault)
    except OSError:  # nobody reads it, or it is a file on a disc that is full
        _say_no_more()
    return Status.NOT_DONE if isinstance(fault, NotDone) else Status.WRONG


def _say_each(fault: Fault) -> None:
    blemishes = fault.blemishes if isinstance(fault, BadDocuments) else ()
    for one in blemishes or (fault,):
        say_wrong(str(one))
    if len(blemishes) > 1:
        say_wrong(f"{len(blemishes)} faults. Nothing was changed.")


def _say_no_more() -> None:
    """Let go of words that cannot be said, which Python would try to say once more at its end."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        os.dup2(nowhere, stream.fileno())


def _as_data(fault: Fault) -> list[dict[str, str]]:
    if isinstance(fault, BadDocuments):
        return [
            {"file": one.file, "place": one.place, "field": one.field, "what": one.read, "remedy": one.remedy}
            for one in fault.blemishes
        ]
    return [{"file": "", "place": fault.where, "field": "", "what": fault.what, "remedy": fault.remedy}]


def _unforeseen(broken: Exception) -> NotDone:
    """Say what nobody foresaw; what is not the system's doing goes into a file, for whoever mends it."""
    if isinstance(broken, OSError):
        what, where = (broken.strerror or str(broken)).lower(), str(broken.filename or "the system")
        if broken.errno in _OUTSIDE:
            return NotDone(what, where, _OUTSIDE[broken.errno])
        return NotDone(what, where, f"put that right and try again; {_noted(broken)}")
    return NotDone(f"the program itself went wrong ({type(broken).__name__})", "fieldfare", _noted(broken))


def _noted(broken: Exception) -> str:
    stamp = dt.datetime.now().strftime("%Y%m%d-%H%M%S")
    note = Path(tempfile.gettempdir()) / f"fieldfare-fault-{stamp}.txt"
    try:
        note.write_text("".join(traceback.format_exception(broken)), encoding="utf-8", errors="backslashreplace")
    except OSError:
        return "the details could not be written down"
    return f"the details are in {note}"

"""fieldfare bag: a bag checked, whoever made it, or copied to a stick and read back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, leave, say, show_json

if TYPE_CHECKING:
    from fieldfare.handover.validate import BagCheck

app = typer.Typer(
    help="Check a bag (RFC 8493), or copy one and read it back.", no_args_is_help=True, rich_markup_mode=None
)


@app.command()
def check(
    bag: Annotated[Path, typer.Argument(help="The bag's folder.")],
    as_json: Annotated[bool, typer.Option("--json", help="Write what was found as JSON.")] = False,
) -> None:
    """Read every byte of a bag and say whether it is complete and valid."""
    from fieldfare.cli.progress import Bar
    from fieldfare.handover.validate import check_bag
    from fieldfare.units.faults import Fault

    if not bag.is_dir():
        raise Fault("there is no such folder", str(bag), "name the bag's folder")
    with Bar(quiet=as_json) as bar:
        found = check_bag(bag, lambda share: bar.show("reading", share, 1.0))
    _out(bag, found, as_json=as_json)


@app.command()
def copy(
    bag: Annotated[Path, typer.Argument(help="The bag's folder.")],
    to: Annotated[Path, typer.Argument(help="A folder on the stick or disc.")],
    as_json: Annotated[bool, typer.Option("--json", help="Write what was found of the copy as JSON.")] = False,
) -> None:
    """Copy a bag, read every byte of the copy back from there and compare it."""
    from fieldfare.cli.progress import Bar
    from fieldfare.handover.copying import copy_bag
    from fieldfare.units.faults import Fault

    if not bag.is_dir():
        raise Fault("there is no such folder", str(bag), "name the bag's folder")
    with Bar(quiet=as_json) as bar:
        target, found = copy_bag(bag, to, lambda what, share: bar.show(what, share, 1.0))
    _out(target, found, as_json=as_json)


def _out(bag: Path, found: BagCheck, *, as_json: bool) -> None:
    from fieldfare.cli.handover import SAID_OF_HOW

    if as_json:
        faults: list[object] = [{"kind": one.kind, "file": one.file, "says": one.says} for one in found.fault]
        show_json({"folder": str(bag), "files": found.files, "bytes": found.bytes, "how": found.how, "fault": faults})
    else:
        state = f"{len(found.fault)} faults" if found.fault else "complete and valid"
        say(f"{bag}: {state}; {found.files} files, {found.bytes / 1e9:.2f} GB, {SAID_OF_HOW[found.how]}.")
        for one in found.fault:
            say(f"{one.kind}: {one.file}: {one.says}", indent=1, hang=2)
    leave(Status.LOOK if found.fault else Status.DONE)

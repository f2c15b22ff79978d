"""fieldfare mend: a damaged recording into a new file; the old one is only read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import Fault


def mend(
    file: Annotated[Path, typer.Argument(help="The damaged recording.")],
    to: Annotated[Path, typer.Option(help="The new file; nothing may be there yet.")],
    channels: Annotated[
        int | None, typer.Option(min=1, help="For a file without a head: channels side by side.")
    ] = None,
    rate: Annotated[int | None, typer.Option(min=1, help="For a file without a head: sample rate in Hz.")] = None,
    bits: Annotated[int | None, typer.Option(help="For a file without a head: 16, 24 or 32.")] = None,
    start: Annotated[int, typer.Option(min=0, help="For a file without a head: first byte of the audio.")] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="Write what was done as JSON.")] = False,
) -> None:
    """Write a new file with the audio of one that was left unfinished, stale, cut, or without a head."""
    from fieldfare.takes.mend import mend as mend_file
    from fieldfare.takes.mend import mend_headless
    from fieldfare.takes.wave import read_head

    if not file.is_file():
        raise Fault("there is no such file", str(file), "check the name")
    told = (channels, rate, bits)
    if channels and rate and bits:
        done = mend_headless(file, to, start, channels, rate, bits)
    elif any(told):
        raise Fault("a file without a head needs all three", str(file), "give --channels, --rate and --bits")
    elif read_head(file).state == "unreadable":
        _offer(file, as_json=as_json)
        leave(Status.LOOK)
    else:
        done = mend_file(file, to)
    if as_json:
        show_json(done)
    else:
        say(
            f"{to}: {done.says}. The samples of both files have one hash, {done.sha256[:16]}…; "
            f"{file.name} was only read."
        )


def _offer(file: Path, *, as_json: bool) -> None:
    """Say how a file without a head may be laid out; nothing is guessed."""
    from dataclasses import asdict

    from fieldfare.takes.mend import offers
    from fieldfare.takes.wave import read_head

    beside = [
        head for path in sorted(file.parent.glob("*.[wW][aA][vV]")) if path != file and (head := read_head(path)).frames
    ]
    found = offers(file, beside)
    if as_json:
        show_json({"offer": [asdict(offer) for offer in found]})
        return
    say(f"{file} has no head that can be read, so nothing was written.")
    if not found:
        say("Its bytes tell nothing about how they are laid out.")
    for offer in found:
        rate = f" --rate {offer.rate_hz}" if offer.rate_hz else " --rate RATE"
        words = f"--channels {offer.channels} --bits {offer.bits} --start {offer.data_start}{rate}"
        say(f"{round(100 * offer.confidence)} %: {words}: {offer.why}", indent=1, hang=2)
    say("Look at them, then mend it with the one that is right.")

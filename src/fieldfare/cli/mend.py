"""fieldfare mend: a damaged recording into a new file; the old one is only read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.show.files import absent
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.show.findings import Mended


def mend(
    files: Annotated[
        list[Path], typer.Argument(help="The damaged recording; or several that go on from one another, to join.")
    ],
    to: Annotated[Path, typer.Option(help="The new file; nothing may be there yet.")],
    fill_gaps: Annotated[
        bool, typer.Option("--fill-gaps", help="Several: put silence where samples are missing between them.")
    ] = False,
    in_order: Annotated[
        bool, typer.Option("--in-order", help="Several: join them as given, though nothing says that they go on.")
    ] = False,
    channels: Annotated[
        int | None, typer.Option(min=1, help="For a file without a head: channels side by side.")
    ] = None,
    rate: Annotated[int | None, typer.Option(min=1, help="For a file without a head: sample rate in Hz.")] = None,
    bits: Annotated[int | None, typer.Option(help="For a file without a head: 16, 24 or 32.")] = None,
    start: Annotated[int, typer.Option(min=0, help="For a file without a head: first byte of the audio.")] = 0,
    floating: Annotated[
        bool, typer.Option("--float", help="For a file without a head: samples are floating point.")
    ] = False,
    big_endian: Annotated[
        bool, typer.Option("--big-endian", help="For a file without a head: as in AIFF, the top byte stands first.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Write what was done as JSON.")] = False,
) -> None:
    """Write a new WAV file from one that was left unfinished, stale, cut, torn or without a head; or join several."""
    for file in files:
        if not file.is_file():
            raise Fault(absent(file, "file"), str(file), "name the recording itself")
    told = (channels, rate, bits)
    if len(files) > 1:
        if any(told):
            raise Fault("one file at a time can be mended without its head", str(files[0]), "mend each, then join")
        done = _joined(files, to, fill_gaps=fill_gaps, in_order=in_order)
    elif channels and rate and bits:
        from fieldfare.takes.mend import mend_headless

        done = mend_headless(files[0], to, start, channels, rate, bits, is_float=floating, big_endian=big_endian)
    elif any(told):
        raise Fault("a file without a head needs all three", str(files[0]), "give --channels, --rate and --bits")
    else:
        done = _mended(files[0], to, as_json=as_json)
    if as_json:
        show_json(done)
    else:
        only = f"{files[0].name} was only read" if len(files) == 1 else "the parts were only read"
        say(f"{to}: {done.says}. The samples are proven the same by one hash, {done.sha256[:16]}…; {only}.")


def _mended(file: Path, to: Path, *, as_json: bool) -> Mended:
    """Mend one file; one without a head gets offers instead."""
    from fieldfare.takes.mend import mend as mend_file
    from fieldfare.takes.wave import read_head

    if read_head(file).state == "unreadable":
        _offer(file, as_json=as_json)
        leave(Status.LOOK)
    return mend_file(file, to)


def _joined(files: list[Path], to: Path, *, fill_gaps: bool, in_order: bool) -> Mended:
    from fieldfare.takes.mend import join, strand_of

    return join(strand_of(files, in_order=in_order), to, fill_gaps=fill_gaps)


def _offer(file: Path, *, as_json: bool) -> None:
    """Say how a file without a head may be laid out; nothing is guessed."""
    from dataclasses import asdict

    from fieldfare.takes.mend import offers
    from fieldfare.takes.wave import beside

    found = offers(file, beside(file))
    if as_json:
        show_json({"offer": [asdict(offer) for offer in found]})
        return
    say(f"{file} has no head that can be read, so nothing was written.")
    if not found:
        say("Its bytes tell nothing of how they are laid out. If you know it, give --channels, --rate and --bits.")
        return
    for offer in found:
        rate = f" --rate {offer.rate_hz}" if offer.rate_hz else " --rate RATE"
        words = f"--channels {offer.channels} --bits {offer.bits} --start {offer.data_start}{rate}"
        words += f"{' --float' if offer.is_float else ''}{' --big-endian' if offer.big_endian else ''}"
        say(f"{round(100 * offer.confidence)} %: {words}: {offer.why}", indent=1, hang=2)
    say("Look at them, then mend it with the one that is right.")

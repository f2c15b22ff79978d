"""Joining the parts of one recording into one file. What is missing between them is told, and filled only if asked."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from fieldfare.show.findings import Mended
from fieldfare.takes.mend.repair import prove, refuse_if_there
from fieldfare.takes.offload import Disk
from fieldfare.takes.wave import (
    Strand,
    WaveWriter,
    gaps_of,
    group,
    raw_blocks,
    read_head,
    same_form,
    taken_along,
    write_form,
)
from fieldfare.units.clock import sample_clock
from fieldfare.units.faults import NotDone
from fieldfare.units.text import listed

_FILL_BYTES = 1 << 20


def strand_of(files: Sequence[Path], *, in_order: bool = False) -> Strand:
    """Put files into one recording, as their clocks and names say.

    Parameters
    ----------
    files
        The parts, in any order; at least two.
    in_order
        Take them as they are given, though nothing says that they go on from one another.

    Raises
    ------
    NotDone
        A part cannot be read, is laid out in another way than the first, or nothing says that all belong together.
    """
    heads = [read_head(path) for path in files]
    for head in heads:
        if head.state == "unreadable":
            raise NotDone(head.says, str(head.path), "mend it first, then join")
        if not same_form(heads[0], head):
            form = f"{head.channels} channels of {head.bits} bits at {head.rate_hz} Hz"
            raise NotDone(
                f"it holds {form}, the first part something else", str(head.path), "join only parts of one recording"
            )
    if in_order:
        return Strand(tuple(heads), (0,) * (len(heads) - 1), "in the order in which they were given")
    found = group(heads, files[0].parent)
    for take in found.take:
        for strand in take.strand:
            if len(strand.part) == len(heads):
                return strand
    lone = next(strand for take in found.take for strand in take.strand if len(strand.part) < len(heads))
    raise NotDone(
        "neither clock nor name says that the others go on from it",
        str(lone.part[-1].path),
        "leave it out; or, if you know their order, give them in it and ask for it with --in-order",
    )


def join(strand: Strand, target: Path, *, fill_gaps: bool = False) -> Mended:
    """Write the parts of a recording one after the other into a new file, with the chunks of the first.

    Parameters
    ----------
    strand
        The parts. They are only read.
    target
        Where the new file goes; nothing may be there yet.
    fill_gaps
        Put silence where samples are missing between parts, so that all after them keeps its place in time.

    Returns
    -------
    What was done. Its hash is of all samples in the new file.

    Raises
    ------
    NotDone
        Samples are missing between parts and what to do was not said, or something is in the way.
    """
    gaps = gaps_of(strand)
    if gaps and not fill_gaps:
        told = listed(f"{count} samples between {one} and {other}" for one, other, count in gaps)
        raise NotDone(
            f"{told} are missing", str(strand.part[0].path), "have them filled with silence, or keep the parts"
        )
    refuse_if_there(target)
    first = strand.part[0]
    part = target.with_name(f".{target.name}.mending")
    hasher, taken = hashlib.sha256(), taken_along(first)
    try:
        with write_form(part, first.form, taken.before, taken.behind) as file:
            for head, gap in zip(strand.part, (*strand.gap, 0), strict=True):
                for block in raw_blocks(head):
                    hasher.update(block)
                    file.write_packed(block)
                _fill(file, gap * head.frame_bytes, hasher)
        frames = strand.frames + sum(strand.gap)
        prove(part, frames, hasher.hexdigest())
        Disk().place(part, target)
    finally:
        part.unlink(missing_ok=True)
    return Mended(
        source=first.file_state(str(first.path)),
        file=str(target),
        frames=frames,
        dropped_bytes=0,
        sha256=hasher.hexdigest(),
        kept=taken.names,
        says=_says(strand),
    )


def _fill(file: WaveWriter, count: int, hasher: hashlib._Hash) -> None:
    """Write silence. [byte]"""
    silent = b"\x80" if file.form.sample_bytes == 1 else b"\0"  # 8-bit WAV is unsigned
    while count > 0:
        block = silent * min(count, _FILL_BYTES)
        hasher.update(block)
        file.write_packed(block)
        count -= len(block)


def _says(strand: Strand) -> str:
    said = f"{len(strand.part)} parts joined: {strand.why}"
    at = 0
    for head, gap in zip(strand.part, (*strand.gap, 0), strict=True):
        at += head.frames
        if gap:
            said += f"; {gap} samples of silence at {sample_clock(at, strand.rate_hz)}, after {head.path.name}"
        at += gap
    return said

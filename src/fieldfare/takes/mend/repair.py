"""Repairing a recording into a new file, whose samples are proven the same by hash before it gets its name."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from fieldfare.show.findings import Mended
from fieldfare.takes.offload import Disk
from fieldfare.takes.wave import Damage, Head, make_form, raw_blocks, read_head, taken_along, write_form
from fieldfare.units.faults import NotDone
from fieldfare.units.text import listed

_TOLD = 20  # stretches told one by one


def mend(path: Path, target: Path) -> Mended:
    """Write a new WAV file with the audio of a damaged one, a right head, and every chunk that was there.

    Audio of another container is written as WAV packs it, RF64 from 4 GiB on. Stretches of a FLAC file that cannot be
    decoded become silence, so that all after them keeps its place in time.

    Parameters
    ----------
    path
        The damaged recording. It is only read.
    target
        Where the new one goes; nothing may be there yet.

    Returns
    -------
    What was done, with the hash that the samples of both files have.

    Raises
    ------
    NotDone
        There is nothing to mend, the head cannot be read at all, or something is in the way. Nothing was written.
    """
    head = read_head(path)
    if head.state == "good" and not _damage(head):
        raise NotDone("its head is good: there is nothing to mend", str(path), "leave it as it is")
    if head.state == "unreadable":
        raise NotDone(head.says, str(path), "say how many channels and bits it has; ask for offers")
    return _rewrite(head, target)


def _damage(head: Head) -> list[Damage]:
    """Decode a compressed recording to see what is wrong inside it; plain ones carry nothing that could tell."""
    damage: list[Damage] = []
    if not head.in_place:
        for _ in raw_blocks(head, damage=damage):
            pass
    return damage


def mend_headless(
    path: Path,
    target: Path,
    data_start: int,
    channels: int,
    rate_hz: int,
    bits: int,
    *,
    is_float: bool = False,
    big_endian: bool = False,
) -> Mended:
    """Write a new file with the bytes of one that has no head, laid out as somebody who knows says.

    Parameters
    ----------
    path
        The recording without a head. It is only read.
    target
        Where the new one goes; nothing may be there yet.
    data_start
        First byte of the audio. [byte]
    channels
        Channels side by side.
    rate_hz
        Sample rate, which no bytes can tell. [Hz]
    bits
        16, 24 or 32. [bit]
    is_float
        Samples are floating point.
    big_endian
        The top byte of each sample stands first, as in AIFF.

    Returns
    -------
    What was done, with the hash that the samples of both files have.

    Raises
    ------
    NotDone
        No audio lies there, or something is in the way. Nothing was written.
    """
    form = make_form(channels, rate_hz, bits, is_float=is_float)
    head = read_head(path)
    there = head.file_bytes - data_start
    if there < form.frame_bytes:
        raise NotDone(f"no audio lies behind byte {data_start}", str(path), "give another start")
    rest = there % form.frame_bytes
    laid_out = replace(
        head,
        form=form,
        data_start=data_start,
        data_bytes=there - rest,
        state="unfinished",
        stated_bytes=None,
        partial_bytes=rest,
        coding="big end first" if big_endian else "packed",
    )
    return _rewrite(laid_out, target)


def _rewrite(head: Head, target: Path) -> Mended:
    """Copy audio and chunks, read the new file, compare, and only then give it its name."""
    refuse_if_there(target)
    part = target.with_name(f".{target.name}.mending")
    hasher = hashlib.sha256()
    taken, damage = taken_along(head), list[Damage]()
    try:
        with write_form(part, head.form, taken.before, taken.behind) as file:
            for block in raw_blocks(head, damage=damage):
                hasher.update(block)
                file.write_packed(block)
        prove(part, head.frames, hasher.hexdigest())
        Disk().place(part, target)
    finally:
        part.unlink(missing_ok=True)
    return Mended(
        source=head.file_state(str(head.path)),
        file=str(target),
        frames=head.frames,
        dropped_bytes=head.partial_bytes,
        sha256=hasher.hexdigest(),
        kept=taken.names,
        says=_says(head, damage),
    )


def _says(head: Head, damage: Sequence[Damage]) -> str:
    gained = "" if head.stated_frames is None else f" where the old head speaks of {head.stated_frames}"
    dropped = head.partial_bytes
    part = f"; {dropped} bytes of a last frame that is not whole were dropped" if dropped else ""
    channels = "1 channel" if head.channels == 1 else f"{head.channels} channels"
    as_wav = "" if head.container in ("WAV", "RF64", "BW64") else f", out of {head.container} and now WAV"
    return f"{head.frames} samples of {channels}{gained}{as_wav}{part}{_torn(damage)}"


def _torn(damage: Sequence[Damage]) -> str:
    """Tell what could not be decoded."""
    holes = [one for one in damage if one.end - one.start and "decoded" in one.says]
    if holes:
        more = f" and {len(holes) - _TOLD} more stretches" if len(holes) > _TOLD else ""
        places = listed(f"{one.start} to {one.end - 1}" for one in holes[:_TOLD])
        return f"; samples {places}{more} could not be decoded, and silence stands there"
    return f"; {damage[0].says}, so some of them are wrong, and nobody knows which" if damage else ""


def refuse_if_there(target: Path) -> None:
    """Stop where a file would be overwritten.

    Raises
    ------
    NotDone
        Something is there.
    """
    if target.exists() or target.is_symlink():
        raise NotDone("a file is there already, and is left alone", str(target), "give another name")


def prove(path: Path, frames: int, sha256: str) -> None:
    """Read a new file from its disc and compare its samples with those that went in.

    Raises
    ------
    NotDone
        It does not hold the same samples.
    """
    head = read_head(path)
    hasher = hashlib.sha256()
    for block in raw_blocks(head):
        hasher.update(block)
    if (head.state, head.frames, hasher.hexdigest()) != ("good", frames, sha256):
        raise NotDone("the new file does not hold the same samples when read back", str(path), "use another disc")

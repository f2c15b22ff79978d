"""Notes that go with a parcel, as plain text: what is in it, how it was recorded, what was found, who agreed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from fieldfare.handover.tracks import Handed
from fieldfare.sheets.track_sheet import found_words, heard_by, song_lines
from fieldfare.sheets.wording import day
from fieldfare.show.consent import USES, ConsentBook
from fieldfare.show.findings import TakeReport
from fieldfare.show.plan import Plan
from fieldfare.show.receiver import Receiver
from fieldfare.show.show import Show
from fieldfare.show.songs import SongBook
from fieldfare.show.venue import Venue
from fieldfare.units.clock import clock
from fieldfare.units.text import listed


def notes_text(
    plan: Plan,
    show: Show,
    venue: Venue,
    to: Receiver,
    handed: Sequence[Handed],
    takes: Sequence[TakeReport],
    songs: SongBook | None,
) -> str:
    """Write the notes of a parcel.

    Parameters
    ----------
    plan, show, venue
        What was recorded.
    to
        Who gets it.
    handed
        The tracks that are in it.
    takes
        What was found in the recordings, where they were checked.
    songs
        Where the songs lie, where they were found.
    """
    acts = listed(act.name for act in show.act)
    lines = [
        f"{show.title}",
        ", ".join(part for part in (acts, venue.name, day(show.date)) if part),
        f"Recorded by {show.recordist}" if show.recordist else "",
        f"For: {to.says}",
        "",
        *_about_tracks(plan, handed),
        *_about_findings(takes),
        *_about_songs(songs),
        show.note,
    ]
    return "\n".join(lines).rstrip() + "\n"


def _about_tracks(plan: Plan, handed: Sequence[Handed]) -> Iterator[str]:
    if not handed:
        return
    rates = {(one.rate_hz, one.bits) for one in handed}
    for rate_hz, bits in sorted(rates):
        yield f"{rate_hz / 1000:g} kHz, {bits} bit, one channel a file. Nothing is processed, converted or shortened."
    yield "All files of a folder begin at one sample and are equally long."
    yield ""
    by_label = {row.label: row for row in plan.input}
    folders = dict.fromkeys(one.path.parent for one in handed)
    for folder in folders:
        mine = [one for one in handed if one.path.parent == folder]
        yield f"{folder.name}: {len(mine)} tracks of {clock(mine[0].frames / mine[0].rate_hz, 3)}"
        for one in mine:
            row = by_label.get(one.label)
            silent = f" ({one.silent} samples of silence where nothing was recorded)" if one.silent else ""
            yield f"  {one.path.name}: {one.label}{f', {heard_by(row)}' if row else ''}{silent}"
    yield ""


def _about_findings(takes: Sequence[TakeReport]) -> Iterator[str]:
    if not takes:
        yield "The recordings were not checked before this was made."
        yield ""
        return
    for take in takes:
        worth = [one for one in take.finding if one.severity != "note"]
        yield f"Found in {take.take}:" if worth else f"Nothing was found wrong in {take.take}."
        yield from (f"  {one.track or one.file or 'take'}: {found_words(take, one)}" for one in worth)
    yield ""


def _about_songs(songs: SongBook | None) -> Iterator[str]:
    rows = tuple(song_lines(songs)) if songs else ()
    if rows:
        yield "Songs, on the clock of their take:"
        yield from (f"  {row.start}  {row.title}, {row.long} long, {row.take}" for row in rows)
        yield ""


def consents_text(book: ConsentBook, day_of: dt.date, names: Iterable[str]) -> str:
    """Write who agreed to what on a day, in words: the signed papers themselves stay with whoever keeps them."""
    from fieldfare.handover.consents import standing_consents

    lines = [f"Who agreed to what, as recorded on {day(day_of)}. A record, not advice on law.", ""]
    for name in names:
        stands = standing_consents(book, name, day_of)
        lines.append(f"{name}:" if stands else f"{name}: nothing is recorded")
        for use, one in stands.items():
            limits = [f"until {day(one.until)}" if one.until else "", one.where, one.note]
            more = "; ".join(part for part in limits if part)
            lines.append(f"  {USES[use]} ({one.how}, {day(one.on)}{f'; {more}' if more else ''})")
    return "\n".join(lines) + "\n"

"""Notes that go with a parcel, as plain text: what is in it, how it was recorded, what was found, who agreed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from fieldfare.handover.tracks import Handed
from fieldfare.sheets.language import Language, day_in, decimal, listed_in, said, worded
from fieldfare.sheets.track_sheet import found_words, heard_by, song_lines
from fieldfare.show.consent import USES, ConsentBook
from fieldfare.show.findings import TakeReport
from fieldfare.show.plan import Plan
from fieldfare.show.receiver import Receiver
from fieldfare.show.show import Show
from fieldfare.show.songs import SongBook
from fieldfare.show.venue import Venue
from fieldfare.units.clock import clock


def notes_text(
    plan: Plan,
    show: Show,
    venue: Venue,
    to: Receiver,
    handed: Sequence[Handed],
    takes: Sequence[TakeReport],
    songs: SongBook | None,
    language: Language = "en",
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
    language
        Of everything but names.
    """
    acts = listed_in((act.name for act in show.act), language)
    lines = [
        f"{show.title}",
        ", ".join(part for part in (acts, venue.name, day_in(show.date, language)) if part),
        worded("Recorded by {x}", language, x=show.recordist) if show.recordist else "",
        worded("For: {t}", language, t=said(to.says, language)),
        "",
        *_about_tracks(plan, handed, language),
        *_about_findings(takes, language),
        *_about_songs(songs, language),
        show.note,
    ]
    return "\n".join(lines).rstrip() + "\n"


def _about_tracks(plan: Plan, handed: Sequence[Handed], language: Language) -> Iterator[str]:
    if not handed:
        return
    rates = {(one.rate_hz, one.bits) for one in handed}
    form = "{n} kHz, {n2} bit, one channel a file. Nothing is processed, converted or shortened."
    for rate_hz, bits in sorted(rates):
        yield worded(form, language, n=decimal(f"{rate_hz / 1000:g}", language), n2=bits)
    yield worded("All files of a folder begin at one sample and are equally long.", language)
    yield ""
    by_label = {row.label: row for row in plan.input}
    folders = dict.fromkeys(one.path.parent for one in handed)
    for folder in folders:
        mine = [one for one in handed if one.path.parent == folder]
        long = decimal(clock(mine[0].frames / mine[0].rate_hz, 3), language)
        yield worded("{x}: {n} tracks of {t}", language, x=folder.name, n=len(mine), t=long)
        for one in mine:
            row = by_label.get(one.label)
            heard = f", {heard_by(row, language)}" if row else ""
            yield f"  {one.path.name}: {one.label}{heard}{_silent(one, language)}"
    yield ""


def _silent(one: Handed, language: Language) -> str:
    if not one.silent:
        return ""
    return f" ({worded('{n} samples of silence where nothing was recorded', language, n=one.silent)})"


def _about_findings(takes: Sequence[TakeReport], language: Language) -> Iterator[str]:
    if not takes:
        yield worded("The recordings were not checked before this was made.", language)
        yield ""
        return
    for take in takes:
        worth = [one for one in take.finding if one.severity != "note"]
        found = "Found in {x}:" if worth else "Nothing was found wrong in {x}."
        yield worded(found, language, x=take.take)
        for one in worth:
            where = one.track or one.file or worded("take", language)
            yield f"  {where}: {found_words(take, one, language)}"
    yield ""


def _about_songs(songs: SongBook | None, language: Language) -> Iterator[str]:
    rows = tuple(song_lines(songs)) if songs else ()
    if rows:
        yield worded("Songs, on the clock of their take:", language)
        for row in rows:
            words = worded("{x}, {n} long, {x2}", language, x=row.title, n=row.long, x2=row.take)
            yield f"  {decimal(row.start, language)}  {words}"
        yield ""


def consents_text(book: ConsentBook, day_of: dt.date, names: Iterable[str], language: Language = "en") -> str:
    """Write who agreed to what on a day, in words: the signed papers themselves stay with whoever keeps them."""
    from fieldfare.handover.consents import standing_consents

    on = day_in(day_of, language)
    lines = [worded("Who agreed to what, as recorded on {t}. A record, not advice on law.", language, t=on), ""]
    for name in names:
        stands = standing_consents(book, name, day_of)
        lines.append(f"{name}:" if stands else worded("{x}: nothing is recorded", language, x=name))
        for use, one in stands.items():
            until = worded("until {t}", language, t=day_in(one.until, language)) if one.until else ""
            more = "; ".join(part for part in (until, one.where, one.note) if part)
            given = f"{one.how}, {day_in(one.on, language)}{f'; {more}' if more else ''}"
            lines.append(f"  {worded(USES[use], language)} ({given})")
    return "\n".join(lines) + "\n"

"""A take whose course is written down: which songs, how long, what lies between, and what goes unlike the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldfare.takes.render.programme import RELEASE_S, Programme, Section, Song
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.tunes import tune_for
from fieldfare.units.faults import OutOfRange

_LATE_S = 1 / 3  # of a song's last chord that still belongs to its section
_EARLY_S = 1 / 4  # ahead of the count-in, or of the first note, at which a song's section begins


@dataclass(frozen=True, slots=True)
class Piece:
    """One song as it is played on the night."""

    title: str
    length_s: float  # from the first note to the release of the last chord, to the nearest bar
    gap_s: float = 15.0  # from the end of the one before; 0 where that one runs into this
    counted: int = 4  # beats of the count-in; 0 where there is none
    loud_db: float = 0.0  # re the loudest song
    faster: float = 1.0  # than the tune's own tempo
    stop_after: float = 0.0  # share of the song after which everybody stops for a while; 0: nobody does
    stop_bars: int = 2


def written_programme(
    pieces: Sequence[Piece], rate_hz: int, seed: int, before_s: float = 15.0, after_s: float = 15.0
) -> Programme:
    """Lay out a take as it is written.

    Parameters
    ----------
    pieces
        The songs, in the order they are played.
    rate_hz
        Sample rate. [Hz]
    seed
        The same seed gives the same take.
    before_s, after_s
        What lies before the first song and after the last. [s]

    Raises
    ------
    OutOfRange
        No songs, or a first one that nothing runs into.
    """
    if not pieces or not pieces[0].gap_s:
        raise OutOfRange("a take needs a first song, and nothing runs into that", "course", "give it a gap")
    sections: list[Section] = []
    at = round((before_s - pieces[0].gap_s) * rate_hz)
    for number, piece in enumerate(pieces):
        song = _song(number, piece, at + round(piece.gap_s * rate_hz), rate_hz, seed)
        begin = song.count_in - round(_EARLY_S * rate_hz)
        last = sections[-1] if sections else None
        if last and not piece.gap_s:
            sections[-1] = Section("song", last.start, begin, last.song)
        else:
            sections.append(
                Section("between" if last else "before", last.end if last else 0, begin, last.song if last else None)
            )
        sections.append(Section("song", begin, song.end + round(_LATE_S * rate_hz), song))
        at = song.end
    frames = at + round(after_s * rate_hz)
    sections.append(Section("after", sections[-1].end, frames, sections[-1].song))
    return Programme(rate_hz, frames, tuple(sections))


def _song(number: int, piece: Piece, count_in: int, rate_hz: int, seed: int) -> Song:
    tune = tune_for(piece.title)
    eighth_s = tune.eighth_s / piece.faster
    bar_s = eighth_s * tune.eighths
    played = max(2, round((piece.length_s - RELEASE_S) / bar_s) - 1)  # a bar is left for the last chord
    counted = piece.counted if piece.gap_s else 0
    start = count_in + round(counted * tune.beat * eighth_s * rate_hz)
    first_stop = round(piece.stop_after * played)
    return Song(
        number=number,
        title=piece.title,
        tune=tune,
        loud_db=piece.loud_db,
        count_in=count_in,
        start=start,
        end=start + round((played + 1) * bar_s * rate_hz),
        eighth_s=eighth_s,
        shift=int(seeded(seed, "shift", number).integers(-3, 4)),
        counted=counted,
        form=tuple((0, 0, 8, 8)[place // 8 % 4] + place % 8 for place in range(played)),
        stops=frozenset(range(first_stop, min(played, first_stop + piece.stop_bars))) if first_stop else frozenset(),
    )

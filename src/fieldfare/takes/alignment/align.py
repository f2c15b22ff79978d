"""Time and polarity of a take: measured, held against the drawing, and told."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.show.alignment import PairDelay, TakeAlignment, TrackRow
from fieldfare.show.drawn import DrawnInput
from fieldfare.takes.alignment.contradict import findings_of, fitted_of
from fieldfare.takes.alignment.expected import Expected, expected, sounds_of
from fieldfare.takes.alignment.hearing import Lag
from fieldfare.takes.alignment.labels import Heard, Labels, labels_of, rows_of
from fieldfare.takes.alignment.measure import Gathered, gather, lags_of
from fieldfare.takes.alignment.shifts import shifts_of
from fieldfare.takes.alignment.subjects import are_fellows, is_di, kind_of
from fieldfare.takes.alignment.sureness import sureness_of
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.units.text import listed

USUAL_C = 20.0
TOLD = 0.5  # spill is told from this sureness on; what shares a source is told always
HEARS = 0.8  # sureness from which a track hears another source
LEAST_HEARD = 3
LEAST_SPREAD = 0.05  # samples that can be read off, at best
Tell = Callable[[float], None]
Lags = Mapping[tuple[int, int], Lag]


def align(axis: Axis, temperature_c: float | None = None, tell: Tell | None = None) -> TakeAlignment:
    """Measure delays and polarity of a take, and hold them against the drawing.

    Parameters
    ----------
    axis
        The take, its tracks with what was drawn where there is a drawing.
    temperature_c
        Of the room, where somebody said. [°C]
    tell
        Called with the share that is done, from 0 to 1.
    """
    gathered = gather(axis, tell)
    lags = lags_of(axis, gathered, tell)
    labels = heard_labels(axis, lags, temperature_c)
    as_heard = relabelled(axis, labels) if labels else axis
    if labels and labels.changed:
        lags = lags_of(as_heard, gathered, tell)
    pairs = pairs_told(as_heard, lags, temperature_c)
    fitted = fitted_of(as_heard, pairs, temperature_c)
    findings = findings_of(axis, pairs, labels, fitted, temperature_c)
    turned = {one.track[0]: one.confidence for one in findings if one.kind == "polarity"}
    return TakeAlignment(
        take=axis.name,
        rate_hz=axis.rate_hz,
        frames=axis.frames,
        pair=pairs,
        finding=findings,
        row=_rows_told(axis, labels),
        fitted=fitted,
        shift=shifts_of(as_heard, pairs, turned),
        not_known=tuple(_not_known(axis, gathered)),
    )


def heard_labels(axis: Axis, lags: Lags, temperature_c: float | None) -> Labels | None:
    """Tell which row each track carries by what is heard; none without a drawing of at least three tracks."""
    drawn = [track.drawn for track in axis.track]
    rows = [row for row in drawn if row is not None and row.at is not None]
    if len(rows) < 3 or len(rows) < len(drawn):
        return None
    per_m = axis.rate_hz / float(speed_of_sound(USUAL_C if temperature_c is None else temperature_c))
    told = sureness_of(axis.track, lags)
    ways = [
        Heard(a, b, lag.delay / per_m, lag.level_db, lag.polarity, sure)
        for (a, b), lag in lags.items()
        if (sure := told[a, b]) >= TOLD
    ]
    return labels_of(ways, hears(axis, lags), rows_of(rows))


def hears(axis: Axis, lags: Lags) -> NDArray[np.bool_]:
    """Tell of each track whether it hears sources that are not its own."""
    count = np.zeros(len(axis.track), np.int64)
    for (a, b), sure in sureness_of(axis.track, lags).items():
        if not are_fellows(axis.track[a], axis.track[b]) and sure >= HEARS:
            count[b] += 1
    return count >= LEAST_HEARD


def relabelled(axis: Axis, labels: Labels) -> Axis:
    """Return the take with the inputs as heard; labels stay what they were."""
    drawn = [track.drawn for track in axis.track]
    tracks = (replace(track, drawn=drawn[row]) for track, row in zip(axis.track, labels.row, strict=True))
    return replace(axis, track=tuple(tracks))


def pairs_told(axis: Axis, lags: Lags, temperature_c: float | None) -> tuple[PairDelay, ...]:
    """Tell of every pair that shares a source, and of spill as far as it is sure."""
    speed = float(speed_of_sound(USUAL_C if temperature_c is None else temperature_c))
    rows = [track.drawn for track in axis.track if track.drawn]
    found, told = [], sureness_of(axis.track, lags)
    for (a, b), lag in sorted(lags.items()):
        one, other = axis.track[a], axis.track[b]
        kind, sure = kind_of(one, other), told[a, b]
        if kind == "spill" and (sure < TOLD or is_di(other)):
            continue
        way = nearest_way(one, other, rows, lag, axis.rate_hz / speed)
        found.append(_pair(one, other, lag, sure, way, axis.rate_hz, speed))
    return tuple(found)


def nearest_way(
    one: AxisTrack, other: AxisTrack, rows: Sequence[DrawnInput], lag: Lag, per_m: float
) -> Expected | None:
    """The way as drawn; of a source that sounds in two places, the one that fits better."""
    if one.drawn is None or other.drawn is None:
        return None
    fellows = are_fellows(one, other)
    ways = [expected(one.drawn, other.drawn, (there,), fellows=fellows) for there in sounds_of(one.drawn, rows)]
    if fellows and not one.drawn.in_air and other.drawn.sound_at:
        ways = [expected(one.drawn, other.drawn, (there,), fellows=True) for there in sounds_of(other.drawn, rows)]
    known = [way for way in ways if way is not None]
    return min(known, key=lambda way: abs(way.metres * per_m - lag.delay), default=None)


def _pair(
    one: AxisTrack, other: AxisTrack, lag: Lag, sure: float, way: Expected | None, rate_hz: int, speed: float
) -> PairDelay:
    metres = lag.delay / rate_hz * speed
    return PairDelay(
        a=one.label,
        b=other.label,
        a_input=one.drawn.id if one.drawn else "",
        b_input=other.drawn.id if other.drawn else "",
        source=one.drawn.source if one.drawn else "",
        kind=kind_of(one, other),
        delay=round(lag.delay, 3),
        plus_minus=round(max(LEAST_SPREAD, lag.apart), 3),
        delay_ms=round(1000 * lag.delay / rate_hz, 4),
        polarity=1 if lag.polarity > 0 else -1,
        coherence=round(lag.coherence, 3),
        level_db=round(lag.level_db, 1),
        confidence=round(sure, 3),
        drawn=None if way is None else round(way.metres / speed * rate_hz, 1),
        off_m=None if way is None else round(metres - way.metres, 3),
        polarity_drawn=None if way is None or way.polarity == 0 else 1 if way.polarity > 0 else -1,
    )


def _rows_told(axis: Axis, labels: Labels | None) -> tuple[TrackRow, ...]:
    if labels is None:
        return ()
    return tuple(
        TrackRow(
            track=axis.track[track].label,
            file=axis.track[track].file.name,
            as_labelled=axis.track[track].id,
            as_heard=axis.track[labels.row[track]].id,
        )
        for track in labels.changed
    )


def _not_known(axis: Axis, gathered: Gathered) -> list[str]:
    said = list(axis.left_out)
    if quiet := [track.label for track, silent in zip(axis.track, gathered.silent, strict=True) if silent]:
        said.append(f"{listed(quiet)}: too quiet all through to say anything")
    if not gathered.stretches:
        said.append("nothing was played in front of a close mic for long enough to measure a delay")
    if not any(track.drawn and track.drawn.at for track in axis.track):
        said.append("no places were drawn, so delays are measured and not compared")
    return said

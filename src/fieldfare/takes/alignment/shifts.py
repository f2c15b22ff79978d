"""The shifts that are offered: which track is put later or earlier, by how much, and what for.

Only those within one source are marked to be applied, and only where they are sure: they cannot harm anything. Whether
close mics wait for the overheads, and whether rooms are brought forward, is taste; both are listed, and marked by hand.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import ceil

from fieldfare.show.alignment import OWN_SOURCE, PairDelay, Shift
from fieldfare.takes.alignment.sureness import SURE
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.rough.roles import mix_role
from fieldfare.units.text import figure

_DRUMS = ("kick", "snare", "tom", "hat", "ride", "drums")
WORTH = 0.25  # samples: less is left alone


def shifts_of(axis: Axis, pairs: Sequence[PairDelay], turned: Mapping[str, float]) -> tuple[Shift, ...]:
    """Return what is offered, one shift at most for each track and group.

    Parameters
    ----------
    axis
        The take.
    pairs
        What was measured.
    turned
        Tracks that are upside down against all others, and how sure that is.
    """
    files = {track.label: track.file.name for track in axis.track}
    within = _within_sources(pairs)
    known = {shift.track for shift in within} | {shift.against for shift in within}
    over = [
        Shift(track=label, apply=sure >= SURE, flip=True, confidence=sure, why="upside down against most that hear it")
        for label, sure in turned.items()
        if label not in known
    ]
    taste = [
        shift.model_copy(update={"flip": shift.track in turned})
        for shift in (*_to_overheads(axis, pairs), *_rooms(pairs))
    ]
    return tuple(shift.model_copy(update={"file": files[shift.track]}) for shift in (*within, *over, *taste))


def _within_sources(pairs: Sequence[PairDelay]) -> list[Shift]:
    """Bring the tracks of one source together: whichever hears it earlier waits for the latest."""
    groups: dict[str, list[PairDelay]] = defaultdict(list)
    for pair in pairs:
        if pair.kind in OWN_SOURCE:
            groups[pair.a].append(pair)
    heads = {a for a, ones in groups.items() if not any(a == pair.b for other in groups.values() for pair in other)}
    found = []
    for a in (a for a in groups if a in heads):
        ones = groups[a]
        latest = max(0.0, *(pair.delay for pair in ones))
        last = max(ones, key=lambda pair: pair.delay).b if latest > 0 else a
        least = min(pair.confidence for pair in ones)
        rows = [(a, 0.0, 1, ones[0].a_input), *((pair.b, pair.delay, pair.polarity, pair.b_input) for pair in ones)]
        for label, delay, polarity, _ in rows:
            later = latest - delay
            if later < WORTH and polarity == 1:
                continue
            why = f"hears its source {figure(later, 2)} samples before {last}" if later >= WORTH else ""
            turned = f"upside down against {a}" if polarity == -1 else ""
            found.append(
                Shift(
                    track=label,
                    apply=least >= SURE,
                    samples=round(later, 2) if later >= WORTH else 0.0,
                    flip=polarity == -1,
                    against=last if label != last else a,
                    group="source",
                    confidence=least,
                    why="; ".join(text for text in (why, turned) if text),
                )
            )
    return found


def _to_overheads(axis: Axis, pairs: Sequence[PairDelay]) -> list[Shift]:
    """Let the close mics of what the overheads are for wait for the overhead that hears each first."""
    tracks = {track.label: track for track in axis.track}
    first: dict[str, PairDelay] = {}
    for pair in pairs:
        sure = pair.kind == "overhead" and pair.confidence >= SURE and _is_for(tracks[pair.b], tracks[pair.a])
        if sure and (pair.a not in first or pair.delay < first[pair.a].delay):
            first[pair.a] = pair
    return [
        Shift(
            track=pair.a,
            apply=False,
            samples=float(ceil(pair.delay)),
            against=pair.b,
            group="overheads",
            confidence=pair.confidence,
            why=f"hears its source {figure(pair.delay, 1)} samples before {pair.b}",
        )
        for pair in first.values()
    ]


def _is_for(overhead: AxisTrack, close: AxisTrack) -> bool:
    """Whether an overhead is meant for what a close mic is meant for, as far as anybody said."""
    if overhead.drawn and close.drawn and overhead.drawn.source and close.drawn.source:
        return overhead.drawn.source == close.drawn.source
    return mix_role("", close.label, "").name in _DRUMS


def _rooms(pairs: Sequence[PairDelay]) -> list[Shift]:
    """Bring every room mic forward by what the nearest source is late in it, as far as no source passes itself."""
    nearest: dict[str, PairDelay] = {}
    for pair in pairs:
        sure = pair.kind == "room" and pair.confidence >= SURE
        if sure and (pair.b not in nearest or pair.delay < nearest[pair.b].delay):
            nearest[pair.b] = pair
    return [
        Shift(
            track=pair.b,
            apply=False,
            samples=-float(round(pair.delay)),
            against=pair.a,
            group="rooms",
            confidence=pair.confidence,
            why=f"hears {pair.a} {figure(pair.delay, 1)} samples late, and everything else later still",
        )
        for pair in nearest.values()
    ]

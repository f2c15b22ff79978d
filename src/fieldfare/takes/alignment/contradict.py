"""Where what was measured and what was drawn say different things: polarity, places, temperature, labels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot

from fieldfare.show.alignment import OWN_SOURCE, AlignFinding, Fitted, MovedMic, PairDelay
from fieldfare.takes.alignment.expected import sounds_of
from fieldfare.takes.alignment.fit import Fit, Way, fit
from fieldfare.takes.alignment.labels import Labels
from fieldfare.takes.alignment.sureness import SURE
from fieldfare.takes.axis import Axis
from fieldfare.units.text import figure, listed

FITTED = 0.8  # far misses are held off: a way need not be as sure to be fitted
MOVED_M, MOVED_SPREADS = 0.45, 3.0
FAR_OFF_M = 0.6  # from the drawing: from here on a way is told as far off
TOLD_C, TOLD_SPREADS, KNOWN_C = 4.0, 2.5, 3.0
LEAST_WITNESSES, MOST_AGAINST = 3, 0.25


def fitted_of(axis: Axis, pairs: Sequence[PairDelay], said_c: float | None) -> Fitted | None:
    """Move the drawing as little as the delays ask for; none where too few are known."""
    rows = {track.label: track.drawn for track in axis.track if track.drawn}
    drawn = list(rows.values())
    mics = {label: row.at for label, row in rows.items() if row.at is not None and row.in_air}
    places = {label: sounds[0] for label, row in rows.items() if (sounds := sounds_of(row, drawn))}
    sources = {str(place): place for place in places.values()}
    ways = [
        Way(
            str(places[pair.a]),
            pair.a if pair.a in mics else "",
            pair.b,
            pair.delay_ms / 1000,
            pair.plus_minus / axis.rate_hz,
        )
        for pair in pairs
        if pair.confidence >= FITTED and pair.drawn is not None and pair.a in places and pair.b in mics
        and len(sounds_of(rows[pair.a], drawn)) == 1
    ]  # fmt: skip
    found = fit(ways, mics, sources, said_c)
    if found is None:
        return None
    return Fitted(
        temperature_c=round(found.temperature_c, 1),
        temperature_plus_minus=round(2 * found.temperature_spread_c, 1),
        temperature_drawn=said_c,
        moved=tuple(_moved(found, axis)),
        rest_m=round(found.rest_m, 3),
        pairs=found.ways,
    )


def _moved(found: Fit, axis: Axis) -> Iterator[MovedMic]:
    ids = {track.label: track.id for track in axis.track}
    for label, by in found.moved.items():
        length = hypot(*by)
        if length >= MOVED_M and length >= MOVED_SPREADS * found.spread[label]:
            x, y, z = (round(one, 2) for one in by)
            yield MovedMic(
                track=label,
                input=ids[label],
                by_m=round(length, 2),
                along=(x, y, z),
                sure=round(length / max(found.spread[label], 1e-3), 1),
            )


def findings_of(
    axis: Axis, pairs: Sequence[PairDelay], labels: Labels | None, fitted: Fitted | None, said_c: float | None
) -> tuple[AlignFinding, ...]:
    """Return what a person should look at, the gravest first."""
    return (
        *_swapped(axis, labels),
        *upside_down(pairs),
        *_of_the_fit(fitted, said_c),
        *_far_off(pairs, fitted),
    )


def _swapped(axis: Axis, labels: Labels | None) -> Iterator[AlignFinding]:
    """Tracks that carry each other's inputs, a ring at a time."""
    left = list(labels.changed) if labels else []
    while left and labels:
        ring = [left[0]]
        while labels.row[ring[-1]] not in ring:
            ring.append(labels.row[ring[-1]])
        left = [track for track in left if track not in ring]
        named = [axis.track[track].label for track in ring]
        carries = "; ".join(f"{axis.track[one].label} carries {axis.track[labels.row[one]].label}" for one in ring)
        yield AlignFinding(
            kind="labels swapped",
            severity="warn",
            track=tuple(named),
            confidence=min(0.99, 1 - 0.5 * labels.cost / max(labels.cost_as_labelled, 1e-9)),
            says=f"the labels are swapped: by when and how loud the other tracks hear it, {carries}",
            remedy="listen to each for a moment; where that is so, name the tracks anew, and correct the patch list",
            figures={"fits_as_labelled": round(labels.cost_as_labelled, 1), "fits_as_heard": round(labels.cost, 1)},
        )


def upside_down(pairs: Sequence[PairDelay]) -> tuple[AlignFinding, ...]:
    """Find the fewest tracks that must be upside down for all sure pairs to be as they should."""
    sure = [pair for pair in pairs if pair.confidence >= SURE and _should(pair) is not None]
    tracks = sorted({name for pair in sure for name in (pair.a, pair.b)})
    sign = dict.fromkeys(tracks, 1)
    against = {name: _against(name, sure, sign) for name in tracks}
    while tracks and max(against.values()) > 0:
        worst = max(tracks, key=lambda name: against[name])
        sign[worst] = -sign[worst]
        against = {name: _against(name, sure, sign) for name in tracks}
    turned = [name for name in tracks if sign[name] < 0]
    if 2 * len(turned) > len(tracks):
        turned = [name for name in tracks if sign[name] > 0]
    return tuple(_turned(name, sure) for name in turned if _witnessed(name, sure))


def _should(pair: PairDelay) -> int | None:
    """Which way up b should be against a; none where nobody can say."""
    if pair.polarity_drawn is not None:
        return pair.polarity_drawn
    return 1 if pair.drawn is None and pair.kind != "spill" else None


def _agrees(pair: PairDelay) -> int:
    return pair.polarity * (_should(pair) or 0)


def _against(name: str, pairs: Sequence[PairDelay], sign: dict[str, int]) -> float:
    """By how much turning a track would make more pairs agree."""
    return -sum(
        pair.confidence * _agrees(pair) * sign[pair.a] * sign[pair.b] for pair in pairs if name in (pair.a, pair.b)
    )


def _witnessed(name: str, pairs: Sequence[PairDelay]) -> bool:
    """Whether nearly all that is known of a track says so: three pairs, or the one with its own source."""
    mine = [_agrees(pair) for pair in pairs if name in (pair.a, pair.b)]
    own = any(pair.kind in OWN_SOURCE for pair in pairs if name in (pair.a, pair.b))
    return (len(mine) >= LEAST_WITNESSES or own) and sum(one > 0 for one in mine) <= MOST_AGAINST * len(mine)


def _turned(name: str, pairs: Sequence[PairDelay]) -> AlignFinding:
    mine = [pair for pair in pairs if name in (pair.a, pair.b)]
    down = [pair for pair in mine if _agrees(pair) < 0]
    others = [pair.b if pair.a == name else pair.a for pair in sorted(down, key=lambda pair: -pair.confidence)]
    return AlignFinding(
        kind="polarity",
        severity="warn",
        track=(name,),
        confidence=round(max(pair.confidence for pair in down), 3),
        says=f"upside down against {listed(others[:3])}{f' and {len(others) - 3} more' if len(others) > 3 else ''}",
        remedy="turn its polarity over and listen in mono; then find the lead or adapter that is wired the other way",
        figures={"pairs": float(len(mine)), "upside_down": float(len(down))},
    )


def _of_the_fit(fitted: Fitted | None, said_c: float | None) -> Iterator[AlignFinding]:
    if fitted is None:
        return
    spread_c = fitted.temperature_plus_minus / 2
    usual_c = 20.0 if said_c is None else said_c
    off_c = fitted.temperature_c - usual_c
    if abs(off_c) >= max(TOLD_C, TOLD_SPREADS * spread_c) and spread_c <= KNOWN_C:
        yield AlignFinding(
            kind="temperature",
            severity="note",
            track=("all",),
            confidence=0.9,
            says=f"sound travelled as in air of {figure(fitted.temperature_c)} °C, give or take "
            f"{figure(fitted.temperature_plus_minus)}, not of {figure(usual_c)} °C",
            remedy="give the room that temperature before delays are worked out from the drawing",
            figures={"temperature_c": fitted.temperature_c, "plus_minus_c": fitted.temperature_plus_minus},
        )
    for mic in fitted.moved:
        yield AlignFinding(
            kind="mic moved",
            severity="warn",
            track=(mic.track,),
            confidence=0.95 if mic.sure > 4 else 0.9,
            says=f"stood at least {figure(mic.by_m, 1)} m from where it was drawn, by when it hears what",
            remedy="if it was moved, draw it where it stood; if not, look whether its label is right",
            figures={"by_m": mic.by_m, "x_m": mic.along[0], "y_m": mic.along[1], "z_m": mic.along[2]},
        )


def _far_off(pairs: Sequence[PairDelay], fitted: Fitted | None) -> Iterator[AlignFinding]:
    """Sure ways that neither fit the drawing nor follow from a mic that was moved."""
    moved = {mic.track for mic in fitted.moved} if fitted else set()
    for pair in pairs:
        if pair.confidence < 0.95 or pair.off_m is None or abs(pair.off_m) < FAR_OFF_M or moved & {pair.a, pair.b}:
            continue
        word = "longer" if pair.off_m > 0 else "shorter"
        yield AlignFinding(
            kind="distance",
            severity="note",
            track=(pair.a, pair.b),
            confidence=pair.confidence,
            says=f"{pair.b} hears {pair.a} over a way {figure(abs(pair.off_m), 1)} m {word} than drawn",
            remedy="one of the two, or the player, stood elsewhere; or it is a reflection that is heard",
            figures={"off_m": pair.off_m, "delay": pair.delay},
        )

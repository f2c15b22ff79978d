"""Whether samples were lost: zeros or held samples inside signal, and blocks that stand twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track, spanned
from fieldfare.takes.measure.shapes import FlatRun, Repeat
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import listed

_TOGETHER = 64  # samples between tracks that lost the same block
_LEAST_TRACKS = 3
_PULSES = 4  # gaps cut out of the height of a pulse wave: it stops and begins so
_TOUCH = 2  # samples between the two halves of a square wave
Place = tuple[int, int]


def gaps(track: Track) -> list[FlatRun]:
    """Return the flat runs of a track that are losses, in order."""
    gate = track.full_scale * 10 ** (limit.GAP_GATE_DBFS.value / 20)
    wave = _is_wave(track.channel.flats, track.rate_hz)
    found = [
        run
        for run, own in zip(track.channel.flats, wave, strict=True)
        if not own and (run.value == 0 or run.end - run.start >= limit.GAP_HELD.value) and _is_gap(run, track, gate)
    ]
    heights = np.sort([abs(run.value) for run in track.channel.flats])
    found = [run for run in found if not run.value or not _is_ceiling(run, heights)]
    pulses = [run for run in found if not run.value and (run.jump_in, run.jump_out) == (run.before, run.after)]
    lengths = sorted(run.end - run.start for run in found)
    minutes = max(1.0, track.channel.frames / track.rate_hz / 60)
    often = len(found) > limit.GAP_RESTS.value * minutes
    if often and lengths[len(found) // 2] >= limit.GAP_REST_S.value * track.rate_hz:
        return []
    return found if len(pulses) < max(_PULSES, len(found) / 2) else [run for run in found if run not in pulses]


def _is_gap(run: FlatRun, track: Track, gate: float) -> bool:
    """Whether a flat run cuts into signal rather than follows it to rest."""
    if run.start == 0 or any(begin - 1 <= run.start and run.end <= end + 1 for begin, end in track.holes):
        return False
    if run.end == track.channel.frames:
        return run.before >= gate and run.jump_in >= limit.GAP_END_JUMP.value * run.before
    if min(run.before, run.after) < gate:
        return False
    least = limit.GAP_STEPS.value * track.quantum
    if run.value:
        return _is_held(run, least)
    in_, out = (run.jump_in, run.edge_before, run.before), (run.jump_out, run.edge_after, run.after)
    return all(_is_cut(*side, least=least) for side in (in_, out))


def _is_ceiling(run: FlatRun, heights: NDArray[np.int64]) -> bool:
    """Whether other flat runs stand as high or as low: flat tops come again, held samples stand anywhere."""
    height, apart = abs(run.value), limit.GAP_HELD_APART.value
    first, last = np.searchsorted(heights, (height * (1 - apart), height * (1 + apart)))
    return bool(last - first > limit.GAP_HELD_ALIKE.value)


def _is_held(run: FlatRun, least: float) -> bool:
    """Whether a sample is held while sound goes on, and is no flat top."""
    beside = max(run.before, run.after)
    if run.end - run.start >= limit.GAP_HELD_LONG.value:
        beside = max(run.edge_before, run.edge_after)
    inside = abs(run.value) <= limit.GAP_HELD_INSIDE.value * max(run.before, run.after)
    leaps = run.jump_out >= limit.GAP_HELD_OUT.value * run.jump_in
    return (inside or leaps) and run.jump_out >= max(limit.GAP_HELD_JUMP.value * beside, least) and run.jump_in >= least


def _is_cut(jump: int, edge: int, peak: int, *, least: float) -> bool:
    """Whether signal stops in mid-swing, rather than comes to rest, or to a turn that is coarser than its steps."""
    return jump >= max(limit.GAP_JUMP.value * peak, least) or edge >= limit.GAP_EDGE.value * peak


def _is_wave(runs: Sequence[FlatRun], rate_hz: int) -> list[bool]:
    """Which flat runs are part of a pulse or square wave: many to a second and evenly spaced, or one beside another."""
    starts = np.array([run.start for run in runs], np.int64)
    ends = np.array([run.end for run in runs], np.int64)
    many = int(limit.GAP_RATE.value)
    wave = np.zeros(len(runs), np.bool_)
    if len(runs) > many:
        spacing = sliding_window_view(np.diff(starts), many)
        even = spacing.std(axis=1) < limit.GAP_SPREAD.value * spacing.mean(axis=1)
        for first in np.flatnonzero(even & (spacing.sum(axis=1) <= rate_hz)).tolist():
            wave[first : first + many + 1] = True
    touch = starts[1:] - ends[:-1] <= _TOUCH
    wave[1:] |= touch
    wave[:-1] |= touch
    return [bool(one) for one in wave]


def dropouts(take: Take) -> Iterator[Hit]:
    """Zeros or held samples inside signal, on one track or on many at once."""
    found = {index: [(run.start, run.end) for run in gaps(track)] for index, track in enumerate(take.tracks)}
    yield from _on_many(take, found, "drop out", "silent")
    for index, places in found.items():
        if not places:
            continue
        track = take.tracks[index]
        start, end, told, count = spanned(places)
        longest = max(places, key=lambda one: one[1] - one[0])
        length = longest[1] - longest[0]
        unsure = length > limit.GAP_UNSURE_S.value * track.rate_hz
        says = (
            f"signal is cut off and comes back {_times(count)}, first at {sample_clock(start, track.rate_hz)}; "
            f"the longest gap is {length} samples ({1000 * length / track.rate_hz:.1f} ms)"
        )
        remedy = (
            "if it is one track, look for wireless range, a mute, a bad lead or connector. Short gaps can be patched "
            "from a neighbouring track's spill or a repeat of the passage"
        )
        yield Hit(
            "warn",
            says,
            remedy,
            0.6 if unsure else 0.97,
            start,
            end,
            told,
            count,
            {"gaps": float(count), "longest_samples": float(length), "samples": float(sum(e - s for s, e in places))},
            track.label,
            track.state.path,
        )


def repeated_blocks(take: Take) -> Iterator[Hit]:
    """A block that was written twice, in place of the one that should follow."""
    found = {
        index: [(one.start, one.start + one.frames) for one in track.channel.repeats if _is_block(one)]
        for index, track in enumerate(take.tracks)
    }
    yield from _on_many(take, found, "repeat a block", "repeated")
    for index, places in found.items():
        if not places:
            continue
        track = take.tracks[index]
        start, end, told, count = spanned(places)
        yield Hit(
            "warn",
            f"a block of samples stands twice in a row {_times(count)}, first at "
            f"{sample_clock(start, track.rate_hz)}, {places[0][1] - places[0][0]} samples",
            "what should be there is lost: patch it from a second recorder, or hide it in the mix. Larger buffers, "
            "another cable and port, and a rest for the computer keep it from coming back",
            0.99,
            start,
            end,
            told,
            count,
            {"blocks": float(count), "block_samples": float(places[0][1] - places[0][0])},
            track.label,
            track.state.path,
        )


def _is_block(one: Repeat) -> bool:
    """Whether it is a repeated block, and not a wave that is periodic to the sample."""
    times = round(one.frames / one.lag)
    return times <= limit.REPEAT_MOST.value and abs(one.frames - times * one.lag) <= limit.REPEAT_SPARE.value


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _on_many(take: Take, found: dict[int, list[Place]], do: str, are: str) -> Iterator[Hit]:
    """Tell places that most tracks share as one finding about the take, and take them out of what was found."""
    shared: list[Place] = []
    most: list[int] = []
    least = max(_LEAST_TRACKS, (len(take.tracks) + 1) // 2)
    for place in sorted({place for places in found.values() for place in places}):
        if shared and abs(place[0] - shared[-1][0]) <= _TOGETHER:
            continue
        with_it = [index for index, places in found.items() if _like(place, places)]
        if len(with_it) >= least:
            shared.append(place)
            most = max(most, with_it, key=len)
    if not shared:
        return
    for index, places in found.items():
        found[index] = [place for place in places if not _like(place, shared)]
    start, end, told, count = spanned(shared)
    on = "all" if len(most) == len(take.tracks) else str(len(most))
    yield Hit(
        "stop",
        f"{on} tracks {do} at the same {'place' if count == 1 else f'{count} places'}, first at "
        f"{sample_clock(start, take.rate_hz)}: {listed(take.tracks[i].label for i in most[:4])}"
        f"{' and others' if len(most) > 4 else ''} are {are} there",
        "the recorder, its driver or its disc lost a block: tracks stay together, but what was played there is gone. "
        "Fetch it from the second recorder, and find the cause before the next take",
        0.99,
        start,
        end,
        told,
        count,
        {"tracks": float(len(most)), "places": float(count)},
    )


def _like(place: Place, places: Sequence[Place]) -> bool:
    return any(abs(place[0] - one[0]) <= _TOGETHER and abs(place[1] - one[1]) <= _TOGETHER for one in places)

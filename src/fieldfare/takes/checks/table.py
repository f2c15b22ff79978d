"""The table of all checks of recorded tracks. Read this first: what each looks for, how it sounds, whose rule it is."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.show.findings import Finding
from fieldfare.show.record import Severity
from fieldfare.takes.checks import clicks, clipping, files, gains, gaps, levels, mains, pairs, sudden
from fieldfare.takes.checks.check import Hit, Take, TakeCheck, TrackCheck
from fieldfare.units.sources import PRACTICE

# fmt: off
TRACK_CHECKS = (
    TrackCheck("dead", "Hiss, hum or nothing at all.", PRACTICE, levels.dead),
    TrackCheck("very low", "Faint; noise comes up with it.", PRACTICE, levels.very_low),
    TrackCheck("clipped", "Crackle and harshness on the loudest notes.", "ClipRuns", clipping.at_the_converter),
    TrackCheck("clipped before the converter", "Rough and flattened when loud, far from full scale.", PRACTICE,
               clipping.before_the_converter),
    TrackCheck("thump", "A dull blow, and a dip in what follows.", PRACTICE, sudden.thumps),
    TrackCheck("wireless dropout", "A spit of hiss and a hole, or a hole alone.", PRACTICE, sudden.lost_carrier),
    TrackCheck("hum", "A low steady tone, heard in the pauses.", "EN50160", mains.hum),
    TrackCheck("dc", "Not heard; clicks where it is cut or muted.", PRACTICE, mains.offset),
)
TAKE_CHECKS = (
    TakeCheck("unreadable", "Nothing can be played.", PRACTICE, files.unreadable),
    TakeCheck("missing", "Not there to be heard.", PRACTICE, files.missing),
    TakeCheck("truncated", "It stops before the music does.", "RIFF1991", files.truncated),
    TakeCheck("unfinished header", "Whole, once the header is mended.", "RIFF1991", files.unfinished_header),
    TakeCheck("damaged", "Silence where a frame is torn, or wrong samples.", "RFC9639", files.damaged),
    TakeCheck("dropout", "A hole with a click at each end.", "Interstitial", gaps.dropouts),
    TakeCheck("dropout", "Silence between two files.", PRACTICE, files.holes),
    TakeCheck("repeated block", "A stutter, or a click without a hole.", "Interstitial", gaps.repeated_blocks),
    TakeCheck("missing block", "A click on everything at once.", "Interstitial", clicks.missing_blocks),
    TakeCheck("click", "A tick that nobody played.", PRACTICE, clicks.single_clicks),
    TakeCheck("crackle", "Frying and spitting, on one track alone.", PRACTICE, clicks.crackle),
    TakeCheck("gain step", "Louder or softer from one moment to the next.", PRACTICE, gains.gain_steps),
    TakeCheck("polarity", "Thin and hollow together, full by itself.", PRACTICE, pairs.reversed_side),
    TakeCheck("duplicate", "Two faders, one sound.", PRACTICE, pairs.same_signal),
    TakeCheck("wrong rate", "Out of tune, and drifting.", PRACTICE, files.wrong_rate),
    TakeCheck("wrong length", "Out of time at one end.", PRACTICE, files.wrong_length),
    TakeCheck("wrong depth", "Grainy when very quiet.", PRACTICE, files.wrong_depth),
    TakeCheck("unexpected", "Unknown until it is heard.", PRACTICE, files.unexpected),
)
# fmt: on

_RANK: dict[Severity, int] = {"stop": 0, "warn": 1, "note": 2}


def findings(take: Take) -> tuple[Finding, ...]:
    """Run every check on a take: gravest first, then by track, then in the order of the table."""
    order = {track.label: place for place, track in enumerate(take.tracks)}
    found = sorted(_run(take), key=lambda one: (_RANK[one.severity], order.get(one.track, -1)))
    return tuple(found)


def _run(take: Take) -> Iterator[Finding]:
    for check in TAKE_CHECKS:
        for hit in check.find(take):
            yield _finding(check, hit, hit.track, hit.file)
    for one in TRACK_CHECKS:
        for track in take.tracks:
            for hit in one.find(track):
                yield _finding(one, hit, track.label, track.state.path)


def _finding(check: TrackCheck | TakeCheck, hit: Hit, label: str, file: str) -> Finding:
    return Finding(
        kind=check.kind,
        severity=hit.severity,
        track=label,
        file=file,
        start=hit.start,
        end=hit.end,
        count=hit.count,
        places=hit.places,
        confidence=round(hit.confidence, 2),
        says=f"{hit.says[0].upper()}{hit.says[1:]}.",
        sounds=check.sounds,
        remedy=f"{hit.remedy[0].upper()}{hit.remedy[1:]}.",
        figures={name: round(value, 6) for name, value in hit.figures.items()},
    )

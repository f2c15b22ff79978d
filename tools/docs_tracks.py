"""Write docs/track-check.md from the tables of checks and thresholds: python tools/docs_tracks.py"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fieldfare.takes.checks import thresholds
from fieldfare.takes.checks.table import TAKE_CHECKS, TRACK_CHECKS
from fieldfare.takes.checks.thresholds import Threshold
from fieldfare.units.sources import PRACTICE

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "docs" / "track-check.md"
FOUND = ROOT / "bench" / "faults.json"  # written by bench/faults.py
COST = ROOT / "bench" / "measure.json"  # written by bench/measure.py
HEAD = """# Track check

Every track is measured in one pass, while it is offloaded or afterwards, and judged. What is found is told with its
place to the sample, how grave and how sure it is, and what can be done. Nothing is ever changed in a recording.

```console
$ fieldfare demo try --seconds 20
$ fieldfare check try/show
$ fieldfare check try/show --pdf try/paper
$ fieldfare check try/show --html try/paper --language de
$ fieldfare check try/card --mains 50 --json
```

With a show, tracks are matched to the plan's inputs by number, name and what stands in the files, and compared with
the peak the plan expects. Any other folder of [recordings](files.md) is checked too, with a list of inputs or without
one; see [without-a-plan.md](without-a-plan.md). A *stop* means that a track cannot be used as it is, a *warn* that
somebody should listen, a *note* that it is worth knowing. Exit status 1 says that there is a stop or a warn.

Levels are dB re full scale; an rms reads 0 for a full-scale sine. Music has silence, brushes, feedback, distortion and
square waves of synthesisers: each check is tried in the tests on faults and on clean playing that looks like them.

This page is made from the tables in `src/fieldfare/takes/checks` by `python tools/docs_tracks.py`; a source is a key of
[sources.md](sources.md) or common practice.
"""

FOUND_HEAD = """
{put} faults were put one at a time into {tracks} clean tracks of {hours} hours in all: sampled instruments, kits and
voices, an audience, synthesisers, feedback, handling. Faults are made from their physics by `bench/damage.py`, which
knows nothing of the check; whether one can be heard is decided there too. Thresholds were set on another half of the
material, with other instruments, kits and voices. "Click wave" and "crackle step ratio" were moved long ago after a
look at this half. Counts of it were read while rules were made: once for ticks, thumps, lost carriers and cut tops,
twice for left-out blocks, three times for gain steps. That blocks of 441 frames were missed, four of 99, was seen on
this half, and mended.

A fault counts as found where it is told at its place, by its own name or one that says the same (a short zero block as
a click, say); a place wider than ten seconds counts for nothing. Precision counts every finding of a kind where there
was none, in clean tracks and beside other faults.

A *gain jump* is 3 to 20 dB, up or down, in up to a tenth of a second, in the middle of sound. A knob and phantom power
stand on a preamp: they are not put on tracks that are quieter at times than any converter's noise, as what comes from a
digital source is. A gain is told by the floor: glimpses of the treble, where it is quietest, show the noise of
microphone and preamp between notes, and a gain moves that noise, playing does not. So a step is told as a stretch in
which it lies: on the half that thresholds were set on, half of them were within 0.7 s and nine of ten within 4.5 s. Of
what never falls to its noise for twenty seconds (a wash of cymbals, a loop without rests) it is told where level and
treble jump at once, by as much as the least of all before and all after differ by, and further than they jump by
themselves. It cannot be told of what hisses louder and softer by itself, nor where another track does the same; and a
track that is alone is only told of where the place is clear within a second. What a radio leaves where it lost its
carrier is left out.

A *tick* is what linear prediction leaves: it stands out from the 21 ms on both sides, and on top of them: a note that
is broken off, or begins at once, bends no further than it swings, however unforeseen it is, and is no tick. Within 21
ms of the louder start of a note a tick is neither told nor heard. *Flat tops* of what is as bright as noise (brushes,
cymbals, a fuzz) are shorter than three samples: there several peaks at one height within milliseconds are counted.
Those of square waves are not: cutting only makes them softer. A *lost carrier* is told by its hiss, or by a silence of
less than −90 dBFS: under the track's own noise, or in other noise than the track's own where it seldom rests so; a rest
in a line's own noise is none. On a fuzz hiss is not told from sound. A *block left out* is told where three tracks, or
a third of all, jump at one sample; where one is seen to be broken off, all others are read again there, and held
against what prediction leaves of them around it. A wrong or swapped source is no matter of single tracks: the delays
between them tell it ([align.md](align.md)).

*Hum* has to stand 3 dB over the pauses, and less than 60 dB under the loud parts, to be put in. It is found in rests
of a fifth of a second and longer. A *thump* counts as heard where it is 3 dB over the peaks around it; among those
that a synthesiser makes by itself it has to be 5 dB taller. An *offset* is what a track rests at; where it never
rests, the mean of its quiet stretches. A *block again* of a whole number of 16 frames, or of 441 or 882, is looked
for everywhere; of other lengths only where sound jumps. Most of the gain steps that were missed are of overheads,
loops and pads that never fall to their noise, two were told beside their place. On ten whole gigs of the other kind
and the demo, 27 hours of tracks with applause between songs, no gain step was told where none was; of 55 that were
then put in, mostly inside songs, 40 were told within ten seconds and seven more somewhere near.

Renewed by `python bench/faults.py` and this page's tool.
"""
COST_HEAD = """
Measured on a machine of {cores} cores with nothing else to do, on files of ten minutes, one thread; a filter that
tells levels, peaks and differences, of the library that decodes media, is run on the same files in the same rounds: in
this process, and by the library's program as the system has it, an older version.
Renewed by `python bench/measure.py speed`, `python bench/measure.py growth` and this page's tool, the plots by
`python tools/docs_growth.py`.
"""


def page() -> str:
    """Make the page's text."""
    checks = [
        f"| {check.kind} | {'one track' if check in TRACK_CHECKS else 'the take'} | {check.sounds} | {check.source} |"
        for check in (*TRACK_CHECKS, *TAKE_CHECKS)
    ]
    numbers = [
        f"| {name.lower().replace('_', ' ')} | {one.value:g} {one.unit} | {one.means} | {one.source} |".replace(
            "  ", " "
        )
        for name, one in vars(thresholds).items()
        if isinstance(one, Threshold)
    ]
    return "\n".join(
        (
            HEAD,
            "## What is looked for\n",
            "| fault | looked for in | how it sounds | from |",
            "| --- | --- | --- | --- |",
            *checks,
            "| wrong source | the take, by its delays: [align.md](align.md) | Another sound than its name. | "
            f"{PRACTICE} |",
            "\n## Thresholds\n",
            "| threshold | value | meaning | from |",
            "| --- | --- | --- | --- |",
            *numbers,
            *(_found(json.loads(FOUND.read_text("utf-8"))) if FOUND.is_file() else ()),
            *(_cost(json.loads(COST.read_text("utf-8"))) if COST.is_file() else ()),
            "",
        )
    )


def _found(score: dict[str, Any]) -> Iterator[str]:
    """How many of the faults that were put in are found, and how often there was nothing."""
    put = sum(row["put"] for row in score["rows"])
    yield "\n## How well faults are found"
    yield FOUND_HEAD.format(put=put, tracks=score["tracks"], hours=score["clean_hours"])
    yield "| fault put in | told as | put in | found | recall | by its own name | precision | false on clean tracks |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    for row in score["rows"]:
        recall, rate = row["found"] / max(1, row["put"]), row["false_clean"] / score["clean_hours"]
        yield (
            f"| {row['fault']} | {row['kind']} | {row['put']} | {row['found']} | {recall:.3f} | {row['named']} "
            f"| {row['precision']:.3f} | {rate:.2f} per hour |"
        )


def _cost(cost: dict[str, Any]) -> Iterator[str]:
    """What measuring costs in time and memory."""
    yield "\n## What it costs"
    yield COST_HEAD.format(cores=cost["cores"])
    yield "| files | way | million samples a second | times the filter in process | times its program |"
    yield "| --- | --- | --- | --- | --- |"
    for row in cost["speed"]:
        ratios = " | ".join(f"{row.get(f'times filter, {peer}', '')}" for peer in ("in process", "program"))
        yield f"| {row['files']} | {row['way']} | {row['million_samples_per_s']} | {ratios} |"
    yield "\n| hours | channels | processor time, s | memory at most, MB |"
    yield "| --- | --- | --- | --- |"
    for row in cost["memory"]:
        yield f"| {row['hours']:g} | {row['channels']} | {row['s']} | {row['mb']} |"
    yield "\n![Processor time over hours, a line for 2, 8 and 32 channels](../bench/measure-time.svg)"
    yield "\n![Memory over hours, below 400 MB for 32 channels](../bench/measure-memory.svg)"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")

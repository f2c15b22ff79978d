"""Measures how much memory songs, delays and a rough mix need, and whether that grows with the length of the take.

python bench/memory.py [tracks] [hours ...]

Each is run in a process of its own on takes of several lengths; what it needs at most is what the system tells of it. A
line through those tells what four hours would need. The takes are those of bench/rough.py: four files are written, the
others are links to them, so that a long take fits on a disc. The mix is of the whole take in one piece, the worst case.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from rough import NAMES, make_take

from fieldfare.takes.alignment.align import align
from fieldfare.takes.axis import find_axes
from fieldfare.takes.rough.choose import choose_mix
from fieldfare.takes.rough.levels import power_of_tracks
from fieldfare.takes.rough.render import render_mix
from fieldfare.takes.songs.find import find_songs
from fieldfare.takes.songs.listen import listen

WHAT = ("nothing", "songs", "align", "rough")
WRITTEN = 4
WANTED_H = 4.0


def one(what: str, folder: Path) -> None:
    """Do one of them, and print the most memory that this process had. [MiB]"""
    import resource

    (axis,) = find_axes(folder / "take")
    began = time.process_time()
    if what == "songs":
        find_songs([listen(axis)])
    elif what == "align":
        align(axis)
    elif what == "rough":
        power = power_of_tracks(axis, axis.track)
        render_mix(axis, choose_mix(axis, power=power), folder / "mix", power=power)
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, time.process_time() - began)


def measured(tracks: int, hours: float) -> dict[str, float]:
    """Make a take of a length and measure all of them on it. [MiB]"""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "take").mkdir()
        make_take(folder / "take", min(tracks, WRITTEN), 60 * hours)
        written = sorted((folder / "take").iterdir())
        for number in range(len(written), tracks):
            label = NAMES[number].replace(" ", "_") if number < len(NAMES) else f"track_{number + 1}"
            os.link(written[number % WRITTEN], folder / "take" / f"{number + 1:02d}_{label}.wav")
        found = {}
        for what in WHAT:
            told = subprocess.run(
                [sys.executable, __file__, "one", what, str(folder)], check=True, capture_output=True, text=True
            ).stdout.split()
            found[what] = float(told[0])
            busy = f"{float(told[1]):6.1f} s of processor"
            print(f"{tracks} tracks, {hours:g} h, {what:8s} {found[what]:5.0f} MiB, {busy}", flush=True)
        return found


def main(tracks: int, lengths: list[float]) -> None:
    """Measure, and draw a line to four hours."""
    rows = [measured(tracks, hours) for hours in lengths]
    for what in WHAT if len(rows) > 1 else ():
        slope, begin = np.polyfit(lengths, [row[what] for row in rows], 1)
        print(f"{what:8s} {begin:5.0f} MiB and {slope:4.0f} MiB for each hour: {begin + WANTED_H * slope:5.0f} MiB "
              f"for {WANTED_H:g} h")  # fmt: skip


if __name__ == "__main__":
    if sys.argv[1:2] == ["one"]:
        one(sys.argv[2], Path(sys.argv[3]))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 32, [float(one) for one in sys.argv[2:]] or [0.25, 0.5, 1.0])

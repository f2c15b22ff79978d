"""Times a parcel of whole tracks beside what a careful person does by hand, in processor time, on the same files.

python bench/parcel.py [MB on the card] [rounds] [folder]

By hand: a plain copy, then the system's sha512sum over it, which makes no heads, cuts nothing and reads nothing back
from the medium. The parcel writes one file a track with its heads, proves the samples of each, and reads everything
back around the cache for the manifest.
"""

from __future__ import annotations

import datetime as dt
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

from fieldfare.handover.bag import seal
from fieldfare.handover.tracks import Stretch, hand_tracks
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.drawn import drawing_of
from fieldfare.show.plan import Plan
from fieldfare.show.toml import read_show
from fieldfare.takes.axis import find_axes
from fieldfare.takes.proven import Proven
from fieldfare.takes.stamps import stamp_of_take
from fieldfare.takes.wave import write

CHANNELS, RATE_HZ = 18, 48_000
DEMO = Path(__file__).parents[1] / "src" / "fieldfare" / "show" / "demo"


def make_card(card: Path, size_mb: int) -> None:
    """Write a file a track, of noise."""
    frames = size_mb * 1_000_000 // (CHANNELS * 3)
    block = np.random.default_rng(1).integers(-(1 << 20), 1 << 20, (RATE_HZ, 1), dtype=np.int32)
    card.mkdir()
    for track in range(1, CHANNELS + 1):
        with write(card / f"{track:02d}_track.wav", RATE_HZ, 24, 1) as file:
            for done in range(0, frames, RATE_HZ):
                file.write(block[: frames - done])


def by_hand(card: Path, out: Path) -> None:
    """Copy with the system's tool, then its checksums."""
    subprocess.run(["cp", "-a", str(card), str(out)], check=True)
    files = sorted(str(path) for path in out.rglob("*.wav"))
    subprocess.run(["sha512sum", *files], check=True, stdout=subprocess.DEVNULL)


def parcel(card: Path, out: Path, plan: Plan) -> None:
    """Write the tracks as they are handed over, and seal them."""
    (axis,) = find_axes(card, drawing_of(plan).input)
    folder = out / "data" / "tracks"
    folder.mkdir(parents=True)
    proven = Proven(out, out.with_name("journal"), stamp_of_take(axis))
    hand_tracks(axis, Stretch("take", folder, 0, axis.frames), plan, proven, lambda samples: None)
    seal(out, {"External-Description": dt.date.today().isoformat()})


def timed(work: Callable[[], None]) -> tuple[float, float]:
    """Return the processor time of this process and its children, and the time on the wall. [s]"""
    before, wall = os.times(), time.perf_counter()
    work()
    after = os.times()
    spent = sum(after[:4]) - sum(before[:4])
    return spent, time.perf_counter() - wall


def main() -> None:
    """Run both in turn and tell the medians."""
    size_mb = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    read = read_show(DEMO)
    plan = make_plan(read.show, read.venue, read.kit, read.digest, own_recipes())
    with tempfile.TemporaryDirectory(dir=sys.argv[3] if len(sys.argv) > 3 else None) as name:
        root = Path(name)
        make_card(root / "card", size_mb)
        spent: dict[str, list[tuple[float, float]]] = {"by hand": [], "parcel": []}
        out = root / "out"
        works = {"by hand": partial(by_hand, root / "card", out), "parcel": partial(parcel, root / "card", out, plan)}
        for _ in range(rounds):
            for what, work in works.items():
                spent[what].append(timed(work))
                shutil.rmtree(out)
    for what, times in spent.items():
        cpu, wall = (statistics.median(one) for one in zip(*times, strict=True))
        print(f"{what:8} {cpu:6.2f} s of processor, {wall:6.2f} s, {size_mb / cpu:7.0f} MB a second of processor")


if __name__ == "__main__":
    main()

"""Times an offload of two copies beside what a careful person does by hand, in one run on the same files.

python bench/offload.py [MB on the card] [rounds] [folder]

By hand: two plain copies, then the system's checksum tool over the card and both copies, which reads what an offload
reads. Beside it the same with the standard library alone. Rounds are interleaved, each in another order, since what
comes after a way that leaves much to be written finds the system busy. Every file is in the cache, so the ratios tell
of the program and not of the disc; name a folder on the disc in question for the other case.
"""

from __future__ import annotations

import hashlib
import os
import random
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fieldfare.takes.offload import offload
from fieldfare.takes.tracks import Listener
from fieldfare.takes.wave import write

CHANNELS, RATE_HZ = 18, 48_000


def make_card(card: Path, size_mb: int, *, mono: bool) -> None:
    """Write one interleaved file or a file a track, of noise that comes and goes."""
    frames = size_mb * 1_000_000 // (CHANNELS * 3)
    rng = np.random.default_rng(1)
    block = (rng.normal(0, 1, (RATE_HZ, CHANNELS)) * (1 << 18)).astype(np.int32)
    block *= (np.arange(RATE_HZ) // 6_000 % 4 + 1)[:, np.newaxis].astype(np.int32)
    card.mkdir()
    paths = [card / f"{track:02d}_track.wav" for track in range(1, CHANNELS + 1)] if mono else [card / "show.wav"]
    for track, path in enumerate(paths):
        samples = block[:, track : track + 1] if mono else block
        with write(path, RATE_HZ, 24, samples.shape[1]) as file:
            for done in range(0, frames, RATE_HZ):
                file.write(samples[: frames - done])


def by_hand(card: Path, roots: list[Path]) -> None:
    """Copy twice with the system's tool, then its checksums over everything."""
    for root in roots:
        subprocess.run(["cp", "-a", str(card), str(root)], check=True)
        subprocess.run(["sync", "-f", str(root)], check=True)
    for folder in (card, *(root / card.name for root in roots)):
        files = sorted(str(path) for path in folder.rglob("*") if path.is_file())
        subprocess.run(["sha256sum", *files], check=True, stdout=subprocess.DEVNULL)


def by_library(card: Path, roots: list[Path]) -> None:
    """Copy twice and hash everything with the standard library."""
    for root in roots:
        shutil.copytree(card, root / card.name)
        os.sync()
    for folder in (card, *(root / card.name for root in roots)):
        for path in sorted(folder.rglob("*")):
            with path.open("rb") as file:
                hashlib.file_digest(file, "sha256")


def ours(card: Path, roots: list[Path], *, measured: bool) -> None:
    """Offload, with every track measured on the way or without."""
    report = offload(card, roots, same_device=True, measure=Listener() if measured else None)
    assert all(len(file.read_back) == 2 for file in report.file), report.missing


WAYS: dict[str, Callable[[Path, list[Path]], None]] = {
    "cp + sha256sum": by_hand,
    "shutil + hashlib": by_library,
    "offload": lambda card, roots: ours(card, roots, measured=False),
    "offload, measured": lambda card, roots: ours(card, roots, measured=True),
}


def processor_s() -> float:
    """Processor time of this process and of those it started."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def one_round(base: Path, card: Path, number: int) -> dict[str, tuple[float, float]]:
    """Time every way once, in the order of the round: by the clock and by the processor."""
    times = {}
    for name, way in random.Random(number).sample([*WAYS.items()], len(WAYS)):
        roots = [base / "left", base / "right"]
        for root in roots:
            root.mkdir()
        clock, processor = time.perf_counter(), processor_s()
        way(card, roots)
        times[name] = (time.perf_counter() - clock, processor_s() - processor)
        for root in roots:
            shutil.rmtree(root)
    return times


def main(size_mb: int, rounds: int, folder: str | None) -> None:
    """Run the rounds for both kinds of card and print medians."""
    for mono in (False, True):
        with tempfile.TemporaryDirectory(dir=folder) as name:
            base = Path(name)
            make_card(base / "CARD", size_mb, mono=mono)
            one_round(base, base / "CARD", 0)  # compiles, and fills the cache
            times = [one_round(base, base / "CARD", number) for number in range(rounds)]
        kind = f"{CHANNELS} mono files" if mono else f"one file of {CHANNELS} channels"
        print(f"\n{kind}, {size_mb} MB, medians of {rounds} rounds, ratios round by round")
        print(f"{'':20}{'clock':>8}{'processor':>11}{'of by hand':>12}{'of library':>12}{'of unmeasured':>15}")
        for name in WAYS:
            clock, processor = (statistics.median(one[name][place] for one in times) for place in (0, 1))
            shares = [
                statistics.median(one[name][0] / one[other][0] for one in times)
                for other in ("cp + sha256sum", "shutil + hashlib", "offload")
            ]
            print(f"{name:20}{clock:7.2f}s{processor:10.2f}s{shares[0]:12.2f}{shares[1]:12.2f}{shares[2]:15.2f}")
    print(f"\nmost memory in use: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 500, int(words[1]) if words[1:] else 6, words[2] if words[2:] else None)

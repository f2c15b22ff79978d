"""Kills cutting, shifting and packing at moments of chance, and looks at what they leave: `KIND N FOLDER`.

A program of its own, as only one without threads can be doubled safely. After each kill: nothing stands under its final
name but what is whole, to the byte what an undisturbed run makes; what the journal calls proven is so and is never
written again; the take is as it was. When it is let run, the work comes to its end.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import bagit
import numpy as np
from handover.demo import FOLDER
from handover.parcel_kit import PRINTED, contents
from takes.offload_killing import ended_by_itself, in_a_double, void
from takes.offload_kit import files_of

from fieldfare.handover.parcel import make_parcel
from fieldfare.show.alignment import Shift, ShiftList
from fieldfare.show.receiver import Receiver
from fieldfare.show.songs import Song, SongBook, TakeSongs
from fieldfare.takes.alignment.apply import apply_shifts
from fieldfare.takes.axis import find_axes
from fieldfare.takes.songs.cut import cut_songs
from fieldfare.takes.wave import write_whole

RATE, FRAMES, TRACKS = 48_000, 120_000, 6
RADIO = Receiver(name="radio", says="A station", uses=("recording",), tracks="both", pictures=True)
Work = Callable[[Path], object]


def cutting(card: Path) -> Work:
    """Cut two songs of the take."""
    (axis,) = find_axes(card)
    return lambda to: cut_songs(_songs(axis.name), [axis], to / "made")


def shifting(card: Path) -> Work:
    """Put every track a little later, half of them by a part of a sample."""
    (axis,) = find_axes(card)
    each = tuple(
        Shift(track=track.label, apply=True, samples=place / 2) for place, track in enumerate(axis.track, start=1)
    )
    return lambda to: apply_shifts(axis, ShiftList(take=axis.name, rate_hz=RATE, shift=each), to / "made")


def packing(card: Path) -> Work:
    """Make a parcel of tracks, songs and a picture."""
    show = card.parent / "show"
    shutil.copytree(FOLDER, show, ignore=lambda _, names: [one for one in names if not one.endswith(".toml")])
    picture = card.parent / "camera.mp4"
    picture.write_bytes(os.urandom(3_000_000))
    what = contents(show, card, songs=_songs(find_axes(card)[0].name), pictures=(picture,))
    return lambda to: make_parcel(what, RADIO, to, PRINTED, lambda text, share: None)


def _songs(take: str) -> SongBook:
    each = (Song(title="One", start=1000, end=50_000), Song(title="Two", start=60_000, end=110_000))
    return SongBook(take=(TakeSongs(take=take, rate_hz=RATE, frames=FRAMES, song=each),))


WORKS = {"cut": cutting, "shift": shifting, "parcel": packing}


def proven(to: Path) -> dict[str, int]:
    """Return the time of change of each file that a journal calls proven, by its name in the folder."""
    found = {}
    for journal in to.glob(".*.proven"):
        part = journal.with_suffix(".part")
        for line in journal.read_text("utf-8").splitlines()[1:]:
            if line.endswith("}") and part.is_dir():
                name = json.loads(line)["file"]
                found[name] = (part / name).stat().st_mtime_ns
    return found


def check(to: Path, whole: Path, kept: dict[str, int]) -> None:
    """Hold what is there against what an undisturbed run made."""
    told = proven(to)
    for name, changed in told.items():
        (part,) = to.glob(".*.part")
        (same,) = whole.iterdir()
        assert (part / name).read_bytes() == (same / name).read_bytes(), f"{name} is called proven and is not"
        assert kept.setdefault(name, changed) == changed, f"{name} was proven and was written again"
    for folder in to.glob("[!.]*"):
        (same,) = whole.iterdir()
        assert folder.name == same.name
        assert _sound_of(folder) == _sound_of(same), "it is there and is not whole"
        assert {name: (folder / name).stat().st_mtime_ns for name in kept} == kept, "it was written again"
        assert not list(folder.rglob(".*")), "a half is in it"
        if (folder / "bagit.txt").exists():
            bagit.Bag(str(folder)).validate()


def _sound_of(folder: Path) -> dict[str, str]:
    return {name: digest for name, digest in files_of(folder).items() if name.endswith((".wav", ".mp4"))}


def kill_at_random(kind: str, wanted: int, folder: Path) -> tuple[int, int]:
    """Kill work at moments of chance, each going on where the last was killed, until so many were killed.

    Returns
    -------
    How many were killed, and how many files were found proven by one that went on.
    """
    chance, card, whole = random.Random(7), folder / "take", folder / "whole"
    card.mkdir(parents=True)
    for number in range(1, TRACKS + 1):
        noise = np.random.default_rng(number).integers(-(1 << 20), 1 << 20, (FRAMES, 1), dtype=np.int32)
        write_whole(card / f"{number:02d}_track_{number}.wav", RATE, 24, noise)
    work, before = WORKS[kind](card), files_of(card)
    whole.mkdir()
    start = time.perf_counter()
    assert ended_by_itself(in_a_double(lambda: void(work(whole))))
    usual_s = time.perf_counter() - start
    killed = gone_on = 0
    while killed < wanted:
        to, kept, ended = folder / "to", dict[str, int](), False
        shutil.rmtree(to, ignore_errors=True)
        to.mkdir()
        while not ended:
            number = in_a_double(lambda to=to: void(work(to)))  # type: ignore[misc]
            if chance.random() < 0.8:
                time.sleep(chance.uniform(0, usual_s))
                os.kill(number, signal.SIGKILL)
            ended = ended_by_itself(number) or any(to.glob("[!.]*"))
            killed += not ended
            check(to, whole, kept)
        gone_on += len(kept)
        assert files_of(card) == before, "the take changed"
    return killed, gone_on


if __name__ == "__main__":
    sys.stdout.write(" ".join(map(str, kill_at_random(sys.argv[1], int(sys.argv[2]), Path(sys.argv[3])))))

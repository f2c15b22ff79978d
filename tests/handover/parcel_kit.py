"""A night of a few tracks with known samples, and everybody's consent, for the tests of parcels."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import numpy as np
from handover.demo import demo
from numpy.typing import NDArray

from fieldfare.handover.consents import parties
from fieldfare.handover.parcel import Contents
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.consent import Consent, ConsentBook, Use
from fieldfare.show.drawn import drawing_of
from fieldfare.show.songs import Handles, Song, SongBook, TakeSongs
from fieldfare.takes.axis import find_axes
from fieldfare.takes.wave import Bext, make_bext, write

RATE, FRAMES, LATE = 48_000, 24_000, 4_800
BEGIN = 19 * 3600 * RATE  # samples since midnight
PRINTED = dt.datetime(2026, 12, 5, 12)
Samples = NDArray[np.int32]


def noise(seed: int, frames: int = FRAMES) -> Samples:
    """Samples of 24 bits that are nowhere alike."""
    return np.random.default_rng(seed).integers(-(1 << 23), 1 << 23, (frames, 1), dtype=np.int32)


def record(card: Path) -> dict[str, Samples]:
    """Write a take of three files: one track, one armed late, and two side by side; return what each label holds."""
    card.mkdir(parents=True)
    kick, late, pair = noise(1), noise(2, FRAMES - LATE), np.concatenate([noise(3), noise(4)], axis=1)
    for name, samples, at in (("01_kick", kick, 0), ("02_snare_top", late, LATE), ("05_overheads", pair, 0)):
        bext = Bext(originator="recorder", date="2026-12-04", time="19:00:00", time_reference=BEGIN + at)
        with write(card / f"{name}.wav", RATE, 24, samples.shape[1], before=((b"bext", make_bext(bext)),)) as file:
            file.write(samples)
    padded = np.concatenate([np.zeros((LATE, 1), np.int32), late])
    return {"Kick": kick, "Snare top": padded, "one": pair[:, :1], "two": pair[:, 1:]}


def everybody(*uses: Use) -> ConsentBook:
    """The consent of all that the demo's show asks."""
    _, show, venue, _ = demo()
    day = dt.date(2026, 12, 4)
    asked = parties(show, venue, own_recipes(), ConsentBook())
    return ConsentBook(
        consent=tuple(Consent(of=one.name, side=one.side, uses=uses, on=day, how="mail") for one in asked)
    )


def songs(take: str) -> SongBook:
    """Two songs, the second with a title that no file can be called."""
    made = (
        Song(title="Slack Water Reel", start=1000, end=9000),
        Song(title="Mud/on: the Keel?", start=12_001, end=20_000),
    )
    of_take = TakeSongs(take=take, rate_hz=RATE, frames=FRAMES, begin=BEGIN, song=made)
    return SongBook(take=(of_take,), handles=Handles(before_s=0, after_s=0))


def contents(folder: Path, card: Path, **changed: object) -> Contents:
    """All that a parcel of the night may be made of."""
    plan, show, venue, kit = demo()
    axes = find_axes(card, drawing_of(plan).input)
    said: dict[str, object] = {
        "folder": folder, "plan": plan, "show": show, "venue": venue, "kit": kit, "recipes": own_recipes(),
        "revision": "C", "consents": everybody("recording", "pictures", "archive"), "axes": axes,
        "songs": songs(axes[0].name),
    }  # fmt: skip
    made: Callable[..., Contents] = Contents
    return made(**(said | changed))

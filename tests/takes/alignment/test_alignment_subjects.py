"""Which tracks are measured against each other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from takes.measure.signals import RATE_HZ, codes, noise

from fieldfare.show.drawn import DrawnInput
from fieldfare.takes.alignment.subjects import pairs_of
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.wave import write


def _axis(folder: Path, names: tuple[str, ...], rows: tuple[DrawnInput, ...] = ()) -> Axis:
    for number, name in enumerate(names, 1):
        with write(folder / f"{number:02d} {name}.wav", RATE_HZ, 24, 1) as file:
            file.write(codes(noise(-25, 0.1, number))[:, np.newaxis])
    (axis,) = find_axes(folder, rows)
    return axis


def _told(axis: Axis) -> set[frozenset[str]]:
    pairs = pairs_of(axis.track, [False] * len(axis.track))
    return {frozenset((axis.track[a].label.casefold(), axis.track[b].label.casefold())) for a, b in pairs}


@pytest.mark.parametrize("drawn", [False, True], ids=["by their names", "by the plan"])
def test_the_two_sides_of_a_stereo_pair_are_not_brought_together(drawn: bool, tmp_path: Path) -> None:
    """What lies between them in time is the width of the pair; a snare's two mics are brought together still."""
    names = ("main pair left", "main pair right", "snare top", "snare bottom")
    rows = tuple(
        DrawnInput(id=f"row-{number}", label=name, number=number, channel=number, source=source, pair=pair)
        for number, (name, source, pair) in enumerate(
            zip(names, ("Main pair", "Main pair", "Drums", "Drums"), ("row-2", "row-1", "", ""), strict=True), 1
        )
    )
    told = _told(_axis(tmp_path, names, rows if drawn else ()))
    assert frozenset(names[:2]) not in told
    assert frozenset(names[2:]) in told
    assert frozenset((names[0], names[2])) in told

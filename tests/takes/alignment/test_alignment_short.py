"""A take that was stopped at once is told as what it is: there is too little to measure, and nothing goes wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from takes.measure.signals import RATE_HZ, codes, noise

from fieldfare.takes.alignment.align import align
from fieldfare.takes.axis import find_axes
from fieldfare.takes.wave import write


@pytest.mark.parametrize("seconds", [0.1, 0.35, 0.7, 1.0, 1.4])
def test_a_take_of_a_moment_is_measured_as_far_as_it_goes(seconds: float, tmp_path: Path) -> None:
    """A stretch has 0.34 s: there are none, one, two or a few of them, all with every track's own sound."""
    for number, name in enumerate(("kick", "snare", "lead vocal"), 1):
        with write(tmp_path / f"{number:02d} {name}.wav", RATE_HZ, 24, 1) as file:
            file.write(codes(noise(-25, seconds, number))[:, np.newaxis])
    (axis,) = find_axes(tmp_path)
    told = align(axis)
    assert told.take == axis.name
    assert all(0 <= pair.confidence <= 1 for pair in told.pair)

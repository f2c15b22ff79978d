"""Times the meter beside another and says by how much they differ.

python bench/loudness.py [minutes]
"""

from __future__ import annotations

import sys
import time

import numpy as np
import pyebur128
from pyebur128 import MeasurementMode, R128State

from fieldfare.takes.loudness import Meter

RATE_HZ = 48_000


def main(minutes: float) -> None:
    """Measure noise that swells with both meters."""
    rng = np.random.default_rng(1)
    count = round(60 * minutes * RATE_HZ)
    swell = np.interp(np.arange(count), np.linspace(0, count, 60), rng.uniform(0.02, 0.3, 60)).astype(np.float32)
    sound = rng.standard_normal((count, 2), dtype=np.float32) * swell[:, None]
    Meter(2, RATE_HZ).feed(sound[:RATE_HZ])
    began = time.process_time()
    meter = Meter(2, RATE_HZ)
    meter.feed(sound)
    read = meter.result()
    ours = time.process_time() - began
    began = time.process_time()
    state = R128State(2, RATE_HZ, MeasurementMode.MODE_I | MeasurementMode.MODE_LRA | MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(sound.astype(np.float64).ravel(), count)
    other = pyebur128.get_loudness_global(state)
    peak = 20 * np.log10(max(pyebur128.get_true_peak(state, channel) for channel in (0, 1)))
    theirs = time.process_time() - began
    print(f"{minutes:g} minutes of stereo: {ours:.2f} s of processor, the other meter {theirs:.2f} s")
    print(
        f"integrated {read.integrated_lufs - other:+.7f} LU apart, true peak {read.true_peak_dbtp - peak:+.3f} dB apart"
    )


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 10)

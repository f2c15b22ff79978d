"""Times a rough mix and holds its files to the loudness and the peak that were asked for.

python bench/rough.py [tracks] [minutes]

The take is made of noise with the slope of music, a track a file; the mix is chosen, then rendered whole as WAV.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from render import _memory as memory

from fieldfare.takes.axis import find_axes
from fieldfare.takes.rough.choose import choose_mix
from fieldfare.takes.rough.levels import power_of_tracks
from fieldfare.takes.rough.render import render_mix
from fieldfare.takes.wave import write

RATE_HZ = 48_000
NAMES = (
    "kick", "snare top", "snare bottom", "tom 1", "tom 2", "overhead left", "overhead right", "bass di", "guitar",
    "fiddle mic", "fiddle di", "accordion", "trumpet", "clarinet", "lead vocal", "backing vocal", "room left",
    "room right",
)  # fmt: skip


def make_take(folder: Path, tracks: int, minutes: float) -> None:
    """Write a take: ten seconds of music-like noise over and over, each time a little louder or softer."""
    rng = np.random.default_rng(1)
    for number in range(tracks):
        spectrum = np.fft.rfft(rng.standard_normal(10 * RATE_HZ))
        spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
        spectrum[0] = 0
        noise = np.fft.irfft(spectrum)
        noise *= 0.3 / np.abs(noise).max()
        name = NAMES[number] if number < len(NAMES) else f"track {number + 1}"
        with write(folder / f"{number + 1:02d}_{name.replace(' ', '_')}.wav", RATE_HZ, 24, 1) as file:
            for _ in range(round(6 * minutes)):
                swell = 10 ** ((rng.uniform(-12, 0)) / 20)
                file.write(np.rint(noise * swell * (1 << 23)).astype(np.int32))


def main(tracks: int, minutes: float) -> None:
    """Make a take, mix it, print the figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "take").mkdir()
        make_take(folder / "take", 2, 0.5)
        _mix(folder, 0.5)  # so that compiling is not counted
        make_take(folder / "take", tracks, minutes)
        _mix(folder, minutes, say=True)


def _mix(folder: Path, minutes: float, *, say: bool = False) -> None:
    began, processor = time.perf_counter(), time.process_time()
    (axis,) = find_axes(folder / "take")
    power = power_of_tracks(axis, axis.track)
    sheet = choose_mix(axis, power=power)
    chosen = time.perf_counter()
    report = render_mix(axis, sheet, folder / "mix", power=power)
    done = time.perf_counter()
    if say:
        one = report.file[0]
        processor = time.process_time() - processor
        print(f"{len(axis.track)} tracks of {minutes:g} minutes: {chosen - began:.1f} s to choose, "
              f"{done - chosen:.1f} s to render, {processor:.1f} s of processor{memory()}")  # fmt: skip
        print(f"{60 * minutes / (done - began):.0f} times real time")
        print(f"{one.loudness_lufs:.3f} LUFS for {sheet.target.loudness_lufs:g}, {one.true_peak_dbtp:.2f} dBTP, "
              f"limiter {one.limited_db:.1f} dB at most")  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 18, float(sys.argv[2]) if len(sys.argv) > 2 else 20)

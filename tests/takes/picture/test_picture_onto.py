"""A recorder's sound comes out in time with the take, in a new file as long as the take."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from fieldfare.takes.picture.clock import Clock
from fieldfare.takes.picture.media import probe
from fieldfare.takes.picture.onto import onto_take
from fieldfare.takes.wave import write_whole

CLICKS_S = (3.0, 9.5, 17.25)  # on the take
LENGTH_S = 20
CLOCKS = (
    Clock(-1.25, 80.0),
    Clock(2.5, -60.0),
    Clock(-0.5, 40.0, ((0.0, 0.0), (10.0, 0.004), (25.0, -0.001))),
)


@pytest.mark.parametrize("clock", CLOCKS)
@pytest.mark.parametrize("own_hz", [44_100, 48_000])
def test_clicks_come_out_where_they_were_on_the_take(tmp_path: Path, clock: Clock, own_hz: int) -> None:
    sound = np.zeros((25 * own_hz, 2), np.int32)
    for at in CLICKS_S:
        middle = round(clock.to_device(at) * own_hz)
        sound[middle - 48 : middle + 49] = np.rint(0.7 * np.hanning(97)[:, None] * (1 << 23)).astype(np.int32)
    write_whole(tmp_path / "own.wav", own_hz, 24, sound, 2)
    assert onto_take(probe(tmp_path / "own.wav"), clock, tmp_path / "new.wav", 48_000, LENGTH_S * 48_000) == 0
    got, rate = soundfile.read(tmp_path / "new.wav")
    assert (rate, got.shape) == (48_000, (LENGTH_S * 48_000, 2))
    for at in CLICKS_S:
        near = got[round((at - 0.1) * rate) : round((at + 0.1) * rate), 0]
        heard = float(np.sum(np.arange(len(near)) * near**2) / np.sum(near**2))
        assert heard / rate + at - 0.1 == pytest.approx(at, abs=5e-5)
    assert np.abs(got[: max(0, round((clock.offset_s - 0.01) * rate))]).max(initial=0.0) == 0

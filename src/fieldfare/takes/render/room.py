"""The room: every sounder reaches every microphone directly and through a diffuse field, block by block.

Convolution by the frequency axis (overlap and save). A block is half a transform; direct paths fit into one part of
the response, the tail of the room runs over several. Delays are exact to a small part of a sample.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Executor
from functools import partial

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.render.paths import Ear, Hall, Path, diffuse_amplitude, room_gain
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Bell, Sound, bell_gain, highpass, lowpass
from fieldfare.takes.render.sounders import Sounder
from fieldfare.takes.render.stage import Stage
from fieldfare.takes.render.strings import AMPLIFIER, PICKUP

BLOCK = 16_384
LEAD = 384  # samples by which responses begin early, so that fractional delays and tones are whole; taken off again
GAP_S = 0.0015  # from the last direct sound of a group to its diffuse field
_SINC = 32  # taps on each side of a fractional delay
_HIGH_HZ = 2500.0
_HIGH_SHARE = 0.6  # of the reverberation time, above that frequency: air and cloth
Spectra = NDArray[np.complex64]


class Room:
    """All responses of one stage, ready to be used on block after block."""

    def __init__(self, stage: Stage, workers: Executor) -> None:
        """Work out the responses; `workers` share the inputs among them, then and later."""
        places = range(len(stage.ears))
        self.paths = [[path for path in stage.paths if path.ear == place] for place in places]
        self.groups, self.send = _groups(stage.sounders, stage.hall)
        self.direct = list(workers.map(partial(_direct, stage), self.paths))
        self.tails = list(workers.map(partial(_tails, stage, self.groups), stage.ears, self.paths))
        self._workers = workers

    def hear(self, blocks: Iterable[Sound]) -> Iterator[Sound]:
        """Turn dry sounds into what every input hears, without its noise.

        Parameters
        ----------
        blocks
            Dry sounds, each of shape (sounders, BLOCK).

        Yields
        ------
        Sounds at the inputs, re full scale, each of shape (inputs, BLOCK), `LEAD` samples late.
        """
        from scipy.fft import rfft

        parts = max((len(tail) for tail in self.tails), default=1)
        past: deque[Spectra] = deque(maxlen=max(1, parts))
        before: Sound | None = None
        for block in blocks:
            before = np.zeros_like(block) if before is None else before
            sounding = [place for place in range(len(block)) if block[place].any() or before[place].any()]
            both = np.concatenate([before, block], axis=1)
            spectra = np.zeros((len(block), BLOCK + 1), np.complex64)
            if sounding:
                spectra[sounding] = rfft(both[sounding], axis=1)
            past.appendleft(self.send @ spectra)
            yield np.stack(list(self._workers.map(partial(self._one, spectra, past), range(len(self.paths)))))
            before = block

    def _one(self, spectra: Spectra, past: deque[Spectra], place: int) -> Sound:
        from scipy.fft import irfft

        total = np.zeros(BLOCK + 1, np.complex64)
        spare = np.empty_like(total)
        for path, way in zip(self.paths[place], self.direct[place], strict=True):
            if spectra[path.sounder, 1] != 0 or spectra[path.sounder].any():
                total += np.multiply(way, spectra[path.sounder], out=spare)
        for part, sent in zip(self.tails[place], past, strict=False):
            for way, group in zip(part, sent, strict=True):
                total += np.multiply(way, group, out=spare)
        sound: Sound = irfft(total, 2 * BLOCK)[BLOCK:]
        return sound


def fractional(delay: float, amplitude: float) -> Sound:
    """Response of a delay that need not be whole, `LEAD` samples late: a windowed sinc in a block's length.

    Parameters
    ----------
    delay
        Delay; at most the block less the lead. [sample]
    amplitude
        Gain, negative to reverse polarity. [1]
    """
    first = int(np.floor(delay))
    steps = np.arange(-_SINC + 1, _SINC + 1)
    away = steps - (delay - first)
    window = np.i0(8.0 * np.sqrt(np.clip(1.0 - (away / _SINC) ** 2, 0.0, 1.0))) / np.i0(8.0)  # Kaiser
    out = np.zeros(BLOCK, np.float32)
    out[LEAD + first + steps] = amplitude * np.sinc(away) * window
    return out


def _direct(stage: Stage, paths: Sequence[Path]) -> list[Spectra]:
    from scipy.fft import rfft

    hz = np.arange(BLOCK + 1, dtype=np.float64) * (stage.programme.rate_hz / (2 * BLOCK))
    found = []
    for path in paths:
        way = rfft(fractional(path.delay, path.amplitude), 2 * BLOCK)
        found.append((way * _tone(stage.sounders[path.sounder], stage.ears[path.ear], hz)).astype(np.complex64))
    return found


def _tone(sounder: Sounder, ear: Ear, hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Colour of a pickup or an amplifier: magnitude alone, so that delays stay what they are."""
    shape: tuple[Bell, ...] = ()
    if ear.row.taking == "di":
        shape = PICKUP
    elif sounder.part == "amplifier":
        shape = AMPLIFIER
    gain = np.ones_like(hz)
    for bell in shape:
        gain = gain * bell_gain(bell, hz)
    return gain


def _groups(sounders: Sequence[Sounder], hall: Hall) -> tuple[list[list[int]], Spectra]:
    """Sounders that stand together share one diffuse field: stage right, middle, stage left, the audience."""
    names = [
        "audience" if one.family == "audience" else int(one.at[0] > 0.8) - int(one.at[0] < -0.8) for one in sounders
    ]
    groups = [[place for place, name in enumerate(names) if name == kind] for kind in dict.fromkeys(names)]
    send = np.zeros((len(groups), len(sounders)), np.complex64)
    for number, group in enumerate(groups):
        for place in group:
            send[number, place] = 10 ** (sounders[place].level_db / 20) * diffuse_amplitude(sounders[place], hall)
    return groups, send


def _tails(stage: Stage, groups: Sequence[Sequence[int]], ear: Ear, paths: Sequence[Path]) -> list[list[Spectra]]:
    """Parts of the tail that an input hears of each group; none for what hears no air."""
    from scipy.fft import rfft

    gain, rate_hz = room_gain(ear), stage.programme.rate_hz
    if gain == 0.0:
        return []
    tails = []
    for number, group in enumerate(groups):
        last = max((path.delay for path in paths if path.sounder in group), default=0.0)
        tail = gain * diffuse_tail(stage.hall.reverberation_s, rate_hz, seeded(stage.seed, "tail", ear.row.id, number))
        tails.append(np.concatenate([np.zeros(LEAD + int(last) + round(GAP_S * rate_hz), np.float32), tail]))
    parts = -(-max(len(tail) for tail in tails) // BLOCK)
    padded = [np.pad(tail, (0, parts * BLOCK - len(tail))).reshape(parts, BLOCK) for tail in tails]
    return [[rfft(tail[part], 2 * BLOCK).astype(np.complex64) for tail in padded] for part in range(parts)]


def diffuse_tail(reverberation_s: float, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Response of a diffuse field of unit energy in the middle band: noise that dies away, its top sooner.

    Parameters
    ----------
    reverberation_s
        Time for a fall of 60 dB. [s]
    rate_hz
        Sample rate. [Hz]
    rng
        Chance; another stream gives a field that has nothing to do with this one.
    """
    count = round(1.15 * reverberation_s * rate_hz)
    grain = rng.standard_normal(count, dtype=np.float32)
    time = np.arange(count, dtype=np.float32) / np.float32(rate_hz)
    slow = np.exp(time * np.float32(-6.9078 / reverberation_s))
    fast = np.exp(time * np.float32(-6.9078 / (_HIGH_SHARE * reverberation_s)))
    tail: Sound = lowpass(grain, rate_hz, _HIGH_HZ) * slow + highpass(grain, rate_hz, _HIGH_HZ) * fast
    tail *= np.float32(1.0 / np.sqrt(np.sum(slow**2, dtype=np.float64)))
    return tail

"""The room: every sounder reaches every microphone directly and through a diffuse field, block by block.

Convolution by the frequency axis (overlap and save). A block is half a transform; direct paths fit into one part of
the response, the tail of the room runs over several. At each frequency all responses of the stage are one matrix, from
what sounds now and what the room was sent before, to what every input hears. Delays are exact to a small part of a
sample.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Executor
from functools import partial
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.render.paths import Ear, Hall, Path, diffuse_amplitude, room_gain
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Bell, Sound, bell_gain, highpass, lowpass, noise
from fieldfare.takes.render.sounders import Sounder
from fieldfare.takes.render.stage import Stage
from fieldfare.takes.render.strings import AMPLIFIER, PICKUP
from fieldfare.units.faults import OutOfRange

BLOCK = 16_384
LEAD = 384  # samples by which responses begin early, so that fractional delays and tones are whole; taken off again
GAP_S = 0.0015  # from the last direct sound of a group to its diffuse field
_TOGETHER = 4  # blocks that go through the matrices at once
_BAND = 1024  # frequencies that one worker takes at a time
_SINC = 32  # taps on each side of a fractional delay
_HIGH_HZ = 2500.0
_HIGH_SHARE = 0.6  # of the reverberation time, above that frequency: air and cloth
Spectra = NDArray[np.complex64]


class Room:
    """All responses of one stage, ready to be used on block after block."""

    def __init__(self, stage: Stage, workers: Executor) -> None:
        """Work out the responses; `workers` share the work, then and later."""
        self.groups = groups = _groups(stage.sounders)
        self.strength = [_strength(sounder, stage.hall) for sounder in stage.sounders]
        self.parts = _tail_parts(stage, groups)
        rows = len(stage.sounders) + len(groups) * self.parts
        self.matrix = np.zeros((BLOCK + 1, len(stage.ears), rows), np.complex64)
        list(workers.map(partial(self._fill, stage, groups), range(len(stage.ears))))
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
        stream, before = iter(blocks), np.zeros((len(self.strength), BLOCK), np.float32)
        sent: deque[Spectra] = deque([np.zeros((len(self.groups), BLOCK + 1), np.complex64)] * self.parts, self.parts)
        while several := list(islice(stream, _TOGETHER)):
            rows = np.zeros((len(several), self.matrix.shape[2], BLOCK + 1), np.complex64)
            for row, block in zip(rows, several, strict=True):
                spectra = row[: len(block)]
                self._transform(np.concatenate([before, block], axis=1), spectra)
                sent.appendleft(self._sent(spectra))
                row[len(block) :] = np.concatenate(sent)
                before = block
            yield from self._through(rows)

    def _transform(self, both: Sound, spectra: Spectra) -> None:
        from scipy.fft import rfft

        def one(place: int) -> None:
            if both[place].any():
                spectra[place] = rfft(both[place])

        list(self._workers.map(one, range(len(both))))

    def _sent(self, spectra: Spectra) -> Spectra:
        """What each group sends into the room. Summed by hand: a library's threads would fight with the workers."""
        total = np.zeros((len(self.groups), BLOCK + 1), np.complex64)
        for row, group in zip(total, self.groups, strict=True):
            for place in group:
                row += np.float32(self.strength[place]) * spectra[place]
        return total

    def _through(self, rows: Spectra) -> Iterator[Sound]:
        """Send spectra of shape (blocks, rows, frequencies) through the matrices and back into time."""
        from scipy.fft import irfft

        heard = np.empty((len(rows), self.matrix.shape[1], BLOCK + 1), np.complex64)

        def band(first: int) -> None:
            part = slice(first, first + _BAND)
            columns = np.ascontiguousarray(rows[:, :, part].transpose(2, 1, 0))
            heard[:, :, part] = (self.matrix[part] @ columns).transpose(2, 1, 0)

        list(self._workers.map(band, range(0, BLOCK + 1, _BAND)))
        for spectra in heard:
            yield np.stack(list(self._workers.map(lambda one: irfft(one, 2 * BLOCK)[BLOCK:], spectra)))

    def _fill(self, stage: Stage, groups: Sequence[Sequence[int]], place: int) -> None:
        """Work out one input's responses: its direct paths, and the parts of the tails after them."""
        from scipy.fft import rfft

        ear, paths = stage.ears[place], [path for path in stage.paths if path.ear == place]
        hz = np.arange(BLOCK + 1, dtype=np.float64) * (stage.programme.rate_hz / (2 * BLOCK))
        for path in paths:
            way = rfft(fractional(path.delay, path.amplitude), 2 * BLOCK)
            self.matrix[:, place, path.sounder] = way * _tone(stage.sounders[path.sounder], ear, hz)
        tails = _tails(stage, groups, ear, paths, self.parts) if room_gain(ear) else ()
        for number, tail in enumerate(tails):
            for part, piece in enumerate(tail):
                row = len(stage.sounders) + part * len(groups) + number
                self.matrix[:, place, row] = rfft(piece, 2 * BLOCK)


def fractional(delay: float, amplitude: float) -> Sound:
    """Response of a delay that need not be whole, `LEAD` samples late: a windowed sinc in a block's length.

    Parameters
    ----------
    delay
        Delay; at most the block less the lead. [sample]
    amplitude
        Gain, negative to reverse polarity. [1]

    Raises
    ------
    OutOfRange
        A delay that does not fit.
    """
    if not 0 <= delay <= BLOCK - LEAD - _SINC - 1:
        raise OutOfRange(f"a path of {delay:.0f} samples does not fit", "room", "nothing may stand that far away")
    first = int(np.floor(delay))
    steps = np.arange(-_SINC + 1, _SINC + 1)
    away = steps - (delay - first)
    window = np.i0(8.0 * np.sqrt(np.clip(1.0 - (away / _SINC) ** 2, 0.0, 1.0))) / np.i0(8.0)  # Kaiser
    out = np.zeros(BLOCK, np.float32)
    out[LEAD + first + steps] = amplitude * np.sinc(away) * window
    return out


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
    count = _tail_length(reverberation_s, rate_hz)
    time = np.arange(count, dtype=np.float32) / np.float32(rate_hz)
    slow = np.exp(time * np.float32(-6.9078 / reverberation_s))
    fast = np.exp(time * np.float32(-6.9078 / (_HIGH_SHARE * reverberation_s)))
    low, high = noise(rng, count), noise(rng, count)  # two, so that nothing cancels where the bands meet
    tail: Sound = lowpass(low, rate_hz, _HIGH_HZ) * slow + highpass(high, rate_hz, _HIGH_HZ) * fast
    tail *= np.float32(1.0 / np.sqrt(np.sum(slow**2, dtype=np.float64)))
    return tail


def _tail_length(reverberation_s: float, rate_hz: int) -> int:
    return round(1.15 * reverberation_s * rate_hz)


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


def _groups(sounders: Sequence[Sounder]) -> list[list[int]]:
    """Sounders that stand together share one diffuse field: stage right, middle, stage left, the audience."""
    names = [
        "audience" if one.family == "audience" else int(one.at[0] > 0.8) - int(one.at[0] < -0.8) for one in sounders
    ]
    return [[place for place, name in enumerate(names) if name == kind] for kind in dict.fromkeys(names)]


def _strength(sounder: Sounder, hall: Hall) -> float:
    """Pressure of the room that a sounder makes at its loudest, as a peak re 0 dB SPL."""
    return float(10 ** (sounder.level_db / 20) * diffuse_amplitude(sounder, hall))


def _onset(paths: Iterable[Path], group: Sequence[int], rate_hz: int) -> int:
    """When an input begins to hear the room that a group makes: just after the last of its direct sounds. [sample]"""
    last = max((path.delay for path in paths if path.sounder in group), default=0.0)
    return LEAD + int(last) + round(GAP_S * rate_hz)


def _tail_parts(stage: Stage, groups: Sequence[Sequence[int]]) -> int:
    """How many blocks the longest tail reaches over."""
    rate_hz = stage.programme.rate_hz
    latest = max(_onset(stage.paths, group, rate_hz) for group in groups)
    return -(-(latest + _tail_length(stage.hall.reverberation_s, rate_hz)) // BLOCK)


def _tails(
    stage: Stage, groups: Sequence[Sequence[int]], ear: Ear, paths: Sequence[Path], parts: int
) -> Iterator[Sound]:
    """The tail that an input hears of each group, of shape (parts, BLOCK)."""
    rate_hz = stage.programme.rate_hz
    for number, group in enumerate(groups):
        rng = seeded(stage.seed, "tail", ear.row.id, number)
        tail = room_gain(ear) * diffuse_tail(stage.hall.reverberation_s, rate_hz, rng)
        whole = np.zeros(parts * BLOCK, np.float32)
        first = _onset(paths, group, rate_hz)
        whole[first : first + len(tail)] = tail
        yield whole.reshape(parts, BLOCK)

"""How much later one sound is than another: the one estimator of delays, and how it is fed from pieces of two sounds.

What two sounds share is brought to one vector for each frequency: its direction is the phase by which the second lags,
its length how much that frequency counts. `curve_of` turns the vectors into a correlation over lags, and its peak is
the delay. What feeds it differs: pieces of two sounds, whitened one by one (`correlate`); the low bands of tracks
(measure/compare.py); what one track hears of all others at once (alignment/hearing.py).

Conventions: a lag is positive where the second sound is the later one. Pieces are cut with a Hann window and only a
band is looked at: a source with nothing but lows, cut without a window, makes a whitened correlation lock to lag 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from fieldfare.units.faults import OutOfRange

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
C64 = NDArray[np.complex64]
C128 = NDArray[np.complex128]
BAND_HZ = (120.0, 6000.0)
FINER = 8.0  # lags to a period of the highest frequency, at least, before a parabola goes through the peak
_AT_ONCE = 8  # pieces: several are transformed together in half the time
_QUIET = 1e-3  # of the strongest line of a piece: below it there is nothing to tell a phase from


@dataclass(frozen=True)
class Correlation:
    """A correlation over lags."""

    step_hz: float  # lags in a second
    values: F64  # from lag 0 on, then the negative lags

    def peak(self, low_s: float, high_s: float, *, either_sign: bool = False, first_share: float = 1.0) -> Peak:
        """Find the highest value between two lags, or the first that is nearly as high.

        Parameters
        ----------
        low_s, high_s
            The range of lags. [s]
        either_sign
            Whether a trough counts as well, as of a sound with its polarity reversed.
        first_share
            Of the highest value that the first peak must have to be taken: sound that comes straight comes before what
            comes by way of the walls, and far from its source it need not be the strongest. [1]

        Raises
        ------
        OutOfRange
            No lag lies in the range.
        """
        step = self.step_hz
        places = np.arange(int(np.ceil(low_s * step)), int(np.floor(high_s * step)) + 1)
        if not len(places):
            raise OutOfRange(f"no lag lies between {low_s} and {high_s} s", "correlation", "give a wider range")
        near = self.values[places % len(self.values)]
        height = np.abs(near) if either_sign else near
        top = int(np.argmax(height))
        if first_share < 1:
            inside = height[1:-1]
            peaks = (inside >= height[:-2]) & (inside >= height[2:]) & (inside >= first_share * height[top])
            top = min(top, 1 + int(np.argmax(peaks))) if peaks.any() else top
        at = int(places[top])
        below, here, above = (float(self.values[(at + d) % len(self.values)]) for d in (-1, 0, 1))
        bend = below - 2 * here + above
        offset = 0.5 * (below - above) / bend if bend else 0.0
        noise = float(np.sqrt(np.mean(self.values**2)))
        lag_s = (at + float(np.clip(offset, -1, 1))) / step
        return Peak(lag_s, here, abs(here) / noise if noise else 0.0, 1 if here >= 0 else -1)


@dataclass(frozen=True, slots=True)
class Peak:
    """The peak of a correlation."""

    lag_s: float  # positive where the second sound is later
    height: float  # 1 where both are one sound, nothing else
    clear: float  # height against the root mean square of the whole correlation
    sign: int  # -1 where one is the other turned over


@dataclass(frozen=True)
class Pieces:
    """The spectra of the pieces of a sound, as far as the band reaches."""

    lines: C64  # (pieces, lines)
    first: int  # of the lines
    size: int  # samples of a piece
    rate_hz: float
    hop: int  # samples from piece to piece
    lead: float  # samples from the middle of the sound to that of the first piece

    def turns(self, drift: float) -> tuple[C128, C128]:
        """By what a clock that is fast turns each line of the first piece, and each next piece more."""
        turn = 2j * np.pi * np.arange(self.first, self.first + self.lines.shape[1]) / self.size
        return np.exp(turn * (drift * self.lead)), np.exp(turn * (drift * self.hop))


def pieces_of(
    sound: F32, size: int, hop: int, rate_hz: float, band_hz: tuple[float, float] = BAND_HZ, *, drift: float = 0.0
) -> Pieces:
    """Cut a sound into pieces and transform them.

    Parameters
    ----------
    sound
        Shape (frames,).
    size
        Length of a piece; at least twice the longest lag looked for. [sample]
    hop
        From piece to piece. [sample]
    rate_hz
        Sample rate. [Hz]
    band_hz
        The band that is looked at. [Hz]
    drift
        By how much the clock of this sound is fast: pieces are put back as from the middle of the sound on. [1]
    """
    from scipy.fft import rfft

    low, high = (int(hz * size / rate_hz) for hz in band_hz)
    band = slice(max(1, low), min(size // 2, high) + 1)
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    count = max(0, (len(sound) - size) // hop + 1)
    lines: C64 = np.zeros((count, band.stop - band.start), np.complex64)
    for row in range(0, count, _AT_ONCE):
        some = sliding_window_view(sound[row * hop :], size)[::hop][: min(_AT_ONCE, count - row)]
        lines[row : row + len(some)] = rfft(some * window, axis=1)[:, band]
    found = Pieces(lines, band.start, size, rate_hz, hop, (size - len(sound)) / 2)
    if drift:
        turned, more = found.turns(drift)
        for row in lines:
            row *= turned
            turned *= more
    return found


def correlate(first: Pieces | Sequence[Pieces], second: Pieces | Sequence[Pieces]) -> Correlation:
    """Correlate two sounds that were cut alike, or stretches of two sounds.

    Sources
    -------
    [GCC1976]: the cross spectrum is divided by its magnitude (phase transform), here piece by piece.
    """
    ones, others = ([one] if isinstance(one, Pieces) else list(one) for one in (first, second))
    size, begin, rate_hz = ones[0].size, ones[0].first, ones[0].rate_hz
    width = ones[0].lines.shape[1]
    total: C128 = np.zeros(width, np.complex128)
    lines = 0
    for one, other in zip(ones, others, strict=True):
        white, heard = _whitened(one, other)
        total += white.sum(axis=0)
        lines += heard
    return curve_of(total, begin, size, rate_hz, lines / width)


def correlate_drifting(first: Pieces, second: Pieces, drifts: Sequence[float]) -> Iterator[Correlation]:
    """Correlate two sounds that were cut alike for each drift that the clock of the second may have.

    As `correlate` with pieces that were put back by that drift, at a small part of the work: a drift only turns what
    was whitened, so that is done once.
    """
    white, heard = _whitened(first, second)
    for drift in drifts:
        turned, more = second.turns(drift)
        total: C128 = np.zeros(white.shape[1], np.complex128)
        for row in white[::-1]:  # Horner's rule
            total *= more
            total += row
        yield curve_of(total * turned, first.first, first.size, first.rate_hz, heard / white.shape[1])


def _whitened(one: Pieces, other: Pieces) -> tuple[C64, int]:
    """The cross spectrum of every piece divided by its magnitude, nothing where it is quiet; how many lines are not."""
    cross: C64 = other.lines * np.conj(one.lines)
    strength = np.abs(cross)
    heard = strength > _QUIET**2 * np.maximum(strength.max(axis=1, keepdims=True, initial=0.0), 1e-30)
    white: C64 = np.where(heard, cross / np.where(heard, strength, np.float32(1)), np.complex64(0))
    return white, int(np.count_nonzero(heard))


def curve_of(vectors: C128, first: int, size: int, rate_hz: float, whole: float | None = None) -> Correlation:
    """Turn the vectors of neighbouring frequencies into a correlation over lags.

    Parameters
    ----------
    vectors
        One for each frequency: its direction the phase of the second sound against the first, its length what it
        counts. Shape (lines,).
    first
        Which line of the transform the first of them is.
    size
        Samples of the transform that they come from.
    rate_hz
        Sample rate. [Hz]
    whole
        Mean length at which the correlation of two equal sounds is 1; the mean length of these vectors where not given.

    Returns
    -------
    The correlation; nothing but zeros where no frequency counts.
    """
    from scipy.fft import irfft

    longest = size
    while longest < FINER * (first + len(vectors)):
        longest *= 2
    sum_of_lengths = float(np.abs(vectors).sum()) if whole is None else whole * len(vectors)
    spectrum = np.zeros(longest // 2 + 1, np.complex128)
    if sum_of_lengths > 0:
        spectrum[first : first + len(vectors)] = vectors * (longest / (2 * sum_of_lengths))
    values: F64 = irfft(spectrum, longest)
    return Correlation(rate_hz * longest / size, values)

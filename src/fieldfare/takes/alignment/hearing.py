"""What one track hears of every source at once: a weighted regression at each frequency, and the delay of each way.

A track is taken for the sum of what lies on the close tracks, each through a way of its own, and of what nobody close
hears. All ways are found together, so that a snare drum, which everything hears, does not answer for every pair of
tracks. A stretch counts the less, at each frequency, the louder the track is there: where the drums play, their
overheads tell nothing of the voice, and between two songs they tell much. Weights of one over the variance are those of
the best linear estimate (Gauss and Markov), and the inverse of its matrix is how unsure each way is: a way counts at a
frequency as far as it is surer than chance, as in the maximum likelihood processor of [GCC1976].

Conventions: delays in samples; above 0, b hears it after a.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.alignment.spectra import Spectra
from fieldfare.takes.alignment.stretches import SEGMENT
from fieldfare.takes.lag import Correlation, curve_of

F32 = NDArray[np.float32]
C64 = NDArray[np.complex64]
C128 = NDArray[np.complex128]

REGULAR = 1e-4  # of each source's own power, added to it
MOST_SURE = 3.0  # a frequency that is surer counts no more: beyond it, reflections are what is wrong
RESTING_DB, LEAST_RESTING = 20.0, 0.35  # under its loud parts; of the stretches, at least
NEAR_S = 0.0012  # from a peak: other peaks within this belong to it
_NEIGHBOURS = 9  # frequencies over which the loudness of a stretch is averaged


@dataclass(frozen=True)
class Hearing:
    """What one track hears: the sums of the regression, for each half of the stretches and last for all."""

    listener: int
    sources: tuple[int, ...]
    normal: C128  # (3, lines, sources, sources)
    heard: C128  # (3, lines, sources)
    stretches: tuple[int, int, int]
    first: int
    rate_hz: int
    _inverse: dict[tuple[int, ...], C128] = field(default_factory=dict, compare=False)

    def inverse(self, kept: tuple[int, ...]) -> C128:
        """Invert the matrix of some of the sources, by their places; asked again it is there already."""
        if kept not in self._inverse:
            part = self.normal[:, :, kept][:, :, :, kept]
            self._inverse[kept] = np.asarray(np.linalg.inv(part), np.complex128)
        return self._inverse[kept]


@dataclass(frozen=True, slots=True)
class Lag:
    """One way: how much later the listener hears a source than the track close to it, and what speaks for it."""

    delay: float  # samples
    polarity: int  # 1 or −1
    height: float  # of the peak; 1 where all frequencies agree
    clear: float  # against what chance gives on average
    rival: float  # height of the next best peak, against this one
    opposite: float  # of the highest peak the other way up, against this one
    apart: float  # samples between the delays of the two halves, and the whole
    coherence: float  # 0 to 1: over the frequencies that count, what is left of the listener that is this source
    level_db: float  # of the source at the listener, against the close track
    lines: int  # frequencies that count


def listen(spectra: Spectra, listener: int, sources: Sequence[int], *, own: bool = False) -> Hearing:
    """Gather what one track hears of sources.

    Parameters
    ----------
    spectra
        Of all tracks.
    listener
        The track.
    sources
        The tracks close to sources; the listener is not among them.
    own
        Whether the listener has a source of its own. Stretches in which that sounds are left out: the others hear it
        too, and would explain it backwards in time.
    """
    from scipy.ndimage import uniform_filter1d

    whole = spectra.lines[:, listener]
    heard_in = _resting(whole) if own else np.arange(whole.shape[1])
    ours, close = whole[:, heard_in], spectra.lines[:, list(sources)][:, :, heard_in]
    loud: F32 = np.asarray(np.abs(ours) ** 2, np.float32)
    least: F32 = np.asarray(np.quantile(loud, 0.05, axis=1, keepdims=True) + 1e-12, np.float32)
    around: F32 = uniform_filter1d(loud, _NEIGHBOURS, axis=0, mode="nearest")
    weight: F32 = np.float32(1) / (around + least)
    normal: C128 = np.empty((3, len(ours), len(sources), len(sources)), np.complex128)
    heard: C128 = np.empty((3, len(ours), len(sources)), np.complex128)
    for half in (0, 1):
        theirs = np.ascontiguousarray(close[:, :, half::2])
        weighted = np.conj(theirs) * weight[:, np.newaxis, half::2]
        normal[half] = weighted @ theirs.transpose(0, 2, 1)
        heard[half] = (weighted @ ours[:, half::2, np.newaxis])[:, :, 0]
    normal[2], heard[2] = normal[0] + normal[1], heard[0] + heard[1]
    diagonal = np.arange(len(sources))
    normal[:, :, diagonal, diagonal] += REGULAR * np.abs(normal[:, :, diagonal, diagonal]) + 1e-30
    count = ours.shape[1]
    return Hearing(
        listener, tuple(sources), normal, heard, (-(-count // 2), count // 2, count), spectra.first, spectra.rate_hz
    )


def _resting(ours: C64) -> NDArray[np.intp]:
    """Stretches in which a track's own source rests, as far as there are enough of them."""
    loud = np.asarray(np.einsum("ij,ij->j", ours, np.conj(ours)).real, np.float64)
    quiet = loud < np.quantile(loud, 0.98) * 10 ** (-RESTING_DB / 10)
    least = min(max(1, int(LEAST_RESTING * len(loud))), len(loud) - 1)  # of a take of a second there are two in all
    if np.count_nonzero(quiet) < max(1, least):
        quiet = loud <= np.partition(loud, least)[least]
    return np.flatnonzero(quiet)


def lag_of(hearing: Hearing, source: int, within_s: tuple[float, float], fellows: Sequence[int] = ()) -> Lag | None:
    """Find the delay of the way from one source.

    Parameters
    ----------
    hearing
        What a track hears.
    source
        The track close to the source.
    within_s
        Least and most delay looked at. [s]
    fellows
        Other tracks close to the same source: they are left out of the regression, as either explains the other.

    Returns
    -------
    The lag; none where nothing is heard, or there are too few stretches to tell.
    """
    kept = tuple(place for place, one in enumerate(hearing.sources) if one == source or one not in fellows)
    if min(hearing.stretches[:2]) < len(kept) + 4:
        return None
    place = kept.index(hearing.sources.index(source))
    inverse = hearing.inverse(kept)
    ways: C128 = np.einsum("hfs,hfs->hf", inverse[:, :, place], hearing.heard[:, :, kept])
    sure = np.abs(ways) ** 2 / np.maximum(inverse[:, :, place, place].real, 1e-300)  # 1 by chance alone
    counts = np.clip(sure - 1, 0, MOST_SURE)
    if not counts[2].any():
        return None
    vectors = counts * np.exp(1j * np.angle(ways))
    whole, *halves = (curve_of(vectors[which], hearing.first, SEGMENT, hearing.rate_hz) for which in (2, 0, 1))
    peak = whole.peak(*within_s, either_sign=True)
    delays = [half.peak(*within_s, either_sign=True).lag_s for half in halves]
    rival, opposite = _rivals(whole, peak.lag_s, peak.height, within_s)
    free = max(1, hearing.stretches[2] - len(kept))
    weights = counts[2] / counts[2].sum()
    return Lag(
        delay=peak.lag_s * hearing.rate_hz,
        polarity=peak.sign,
        height=abs(peak.height),
        clear=peak.clear,
        rival=rival,
        opposite=opposite,
        apart=max(abs(one - peak.lag_s) for one in delays) * hearing.rate_hz,
        coherence=float((weights * sure[2] / (sure[2] + free)).sum()),
        level_db=10 * float(np.log10(max(float((weights * np.abs(ways[2]) ** 2).sum()), 1e-12))),
        lines=int(np.count_nonzero(counts[2])),
    )


def _rivals(curve: Correlation, lag_s: float, height: float, within_s: tuple[float, float]) -> tuple[float, float]:
    """What speaks against a peak: the next best one, and the best the other way up, both against it."""
    low, high = (round(edge * curve.step_hz) for edge in within_s)
    places = np.arange(low, high + 1)
    values = curve.values[places % len(curve.values)] / height
    far = np.abs(places / curve.step_hz - lag_s) > NEAR_S
    rival = float(np.abs(values[far]).max(initial=0.0))
    return rival, float(np.maximum(-values, 0).max(initial=0.0))

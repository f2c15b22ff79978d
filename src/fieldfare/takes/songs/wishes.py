"""What is expected of a night before it is listened to: lengths of songs and gaps, and how often a list is kept to.

Every number is a log probability, or a log density per natural unit of the logarithm of a length. They are PRACTICE:
chosen by hand from how sets go, and held by the accuracy bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.songs import ListedSong

F64 = NDArray[np.float64]

ANY_SONG_S, ANY_SONG_SPREAD = 150.0, 0.9  # of songs nobody said a length of: median, and spread in ln
LISTED_SPREAD, LISTED_WILD, LISTED_WILD_SHARE = 0.18, 0.7, 0.1  # of a rough length in a list: usual, and wild
GAP_S, GAP_SPREAD = 14.0, 1.0
SHORTEST_SONG_S, LONGEST_SONG_S = 12.0, 1800.0
SHORTEST_GAP_S = 1.0
A_SONG = -4.0  # that there is one more song at all, against none
DROPPED, ADDED, SWAPPED = log(0.05), log(0.05), log(0.03)
TEMPO_COUNTS = 8.0  # of a listed tempo, for how far its beat is heard in a song above or below the usual
UNPLAYED = log(0.3)  # a song at the end of the list that was not played: an encore nobody asked for
RUNS_ON, RUNS_ON_AS_LISTED, PAUSES_AS_LISTED = log(0.03), log(0.9), log(0.15)


def any_song(length_s: F64) -> F64:
    """Log density of the length of a song of which nobody said anything."""
    return _normal(np.log(length_s / ANY_SONG_S), ANY_SONG_SPREAD)


def listed_song(song: ListedSong, length_s: F64) -> F64:
    """Log density of the length of a song of the list."""
    if song.length_s is None:
        return any_song(length_s)
    off = np.log(length_s / song.length_s)
    usual = _normal(off, LISTED_SPREAD) + log(1 - LISTED_WILD_SHARE)
    return np.logaddexp(usual, _normal(off, LISTED_WILD) + log(LISTED_WILD_SHARE))


def gap(length_s: F64) -> F64:
    """Log density of the length of a gap between two songs."""
    return _normal(np.log(np.maximum(length_s, 0.1) / GAP_S), GAP_SPREAD)


def _normal(off: F64, spread: float) -> F64:
    density: F64 = -((off / spread) ** 2) / 2 - log(spread * sqrt(2 * pi))
    return density


def listed_lengths(listed: Sequence[ListedSong], length_s: F64) -> F64:
    """Log densities of lengths for every song of the list, shape (songs, lengths)."""
    if not listed:
        return np.zeros((0, len(length_s)))
    return np.stack([listed_song(one, length_s) for one in listed])

"""How sure a lag is: a probability, learnt from shows whose delays are known.

The weights were fitted by `bench/alignment.py tune` on rendered shows of its own, and are judged by
`bench/alignment.py` on others: of the lags told as surer than 0.9, more than nine in ten are right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, log

from fieldfare.takes.alignment.hearing import Lag
from fieldfare.takes.axis import AxisTrack

SURE = 0.9  # from here on a lag is taken for right
NAMES = ("once", "clear", "height", "rival", "opposite", "apart")
WEIGHTS = (3.87, -0.39, 6.31, -2.06, -3.83, -0.01)
TURNED, RIVAL, DOUBTED = 0.4, 0.65, 0.85  # a peak the other way up, or another, this near is never told as sure
SAME_LATENCY, ALONE = 70.0, 0.2  # samples: close mics stand up to half a metre from their sources


def evidence(lag: Lag) -> tuple[float, ...]:
    """Return what speaks for and against a lag, one figure for each of NAMES."""
    return (
        1.0,
        log(max(lag.clear, 1.0)),
        lag.height,
        min(lag.rival, 1.0),
        min(lag.opposite, 1.0),
        log(1 + min(lag.apart, 1000.0)),
    )


def sureness(lag: Lag) -> float:
    """Probability that a lag is right to two samples, and its polarity too."""
    odds = sum(weight * figure for weight, figure in zip(WEIGHTS, evidence(lag), strict=True))
    told = 1 / (1 + exp(-max(-12.0, min(6.0, odds))))
    return told if lag.opposite < TURNED and lag.rival < RIVAL else min(told, DOUBTED)


def sureness_of(tracks: Sequence[AxisTrack], lags: Mapping[tuple[int, int], Lag]) -> dict[tuple[int, int], float]:
    """Tell how sure every lag is.

    A house's mixer is as late for one source as for another, but for the way to the mic close to it: a lag that is
    alone in its opinion there is not believed.
    """
    told = {pair: sureness(lag) for pair, lag in lags.items()}
    for b in (place for place, track in enumerate(tracks) if track.role == "mix"):
        mine = [pair for pair in lags if pair[1] == b]
        backed = {
            pair: sum(told[other] for other in mine if abs(lags[other].delay - lags[pair].delay) <= SAME_LATENCY)
            for pair in mine
        }
        most = max(backed.values(), default=0.0)
        told |= {pair: min(told[pair], ALONE) for pair in mine if backed[pair] < most / 2}
    return told

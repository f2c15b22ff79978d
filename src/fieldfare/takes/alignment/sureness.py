"""How sure a lag is: a probability, learnt from shows whose delays are known.

The weights were fitted by `bench/alignment.py tune` on rendered shows of its own, and are judged by
`bench/alignment.py` on others: of the lags told as surer than 0.9, more than nine in ten are right.
"""

from __future__ import annotations

from math import exp, log

from fieldfare.takes.alignment.hearing import Lag

NAMES = ("once", "clear", "height", "rival", "opposite", "apart")
WEIGHTS = (3.87, -0.39, 6.31, -2.06, -3.83, -0.01)


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
    return 1 / (1 + exp(-max(-12.0, min(6.0, odds))))

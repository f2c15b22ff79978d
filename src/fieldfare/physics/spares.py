"""Spares: how many must be carried so that what is needed is there, given how often a thing fails.

Conventions: odds are from 0 to 1. Units fail independently of one another; a shared cause, such as a wet bin, is not
in these figures. Sums are exact.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Span, within

MOST = 1000  # units that one sum is made over

_ODDS = Span("odds of failing", "", 0, 1, "give odds from 0 to 1, such as 0.02 for one in fifty")
_GOOD = Span("odds of being good", "", 0, 1, "give odds from 0 to 1, such as 0.97")
_WANTED = Span("wanted odds", "", 0, 0.999_999, "give odds such as 0.95: no number of spares makes it certain")
_COUNT = Span("count", "", 0, MOST, "give a whole number of units of one kind")


def odds_enough(needed: int, carried: int, good_odds: float) -> float:
    """Odds that at least so many of what is carried are good.

    Parameters
    ----------
    needed
        How many must be good. [count]
    carried
        How many are carried. [count]
    good_odds
        Odds that one unit is good. [1]

    Returns
    -------
    Odds; 0 where fewer are carried than are needed. [1]

    Raises
    ------
    OutOfRange
        A count below 0 or above 1000, odds outside 0 to 1, or not a number.

    Sources
    -------
    Binomial sum, k out of n: [KofN].

    Examples
    --------
    >>> round(odds_enough(3, 4, 0.9), 4)
    0.9477
    """
    least, most = int(within(float(needed), _COUNT)), int(within(float(carried), _COUNT))
    good = within(float(good_odds), _GOOD)
    return math.fsum(math.comb(most, n) * good**n * (1 - good) ** (most - n) for n in range(least, most + 1))


def odds_at_most(failures: int, in_use: int, fail_odds: float) -> float:
    """Odds that no more than so many of those in use fail.

    Parameters
    ----------
    failures
        How many failures there are spares for. [count]
    in_use
        How many are in use. [count]
    fail_odds
        Odds that one fails in a night. [1]

    Returns
    -------
    Odds. [1]

    Raises
    ------
    OutOfRange
        A count below 0 or above 1000, odds outside 0 to 1, or not a number.

    Sources
    -------
    Binomial sum: [KofN].

    Examples
    --------
    >>> round(odds_at_most(2, 24, 0.02), 4)
    0.9882
    """
    used, covered = int(within(float(in_use), _COUNT)), int(within(float(failures), _COUNT))
    return odds_enough(max(0, used - covered), used, 1 - within(float(fail_odds), _ODDS))


def spares_for(in_use: int, fail_odds: float, wanted_odds: float) -> int:
    """Least number of spares that keeps all places filled with the odds that are wanted.

    A spare is taken to be good: it was tested before it was packed.

    Parameters
    ----------
    in_use
        How many are in use. [count]
    fail_odds
        Odds that one fails in a night. [1]
    wanted_odds
        Odds wanted that there are spares enough. [1]

    Returns
    -------
    Spares. [count]

    Raises
    ------
    OutOfRange
        A count below 0 or above 1000, odds outside 0 to 1, wanted odds of 1, or not a number.

    Sources
    -------
    Smallest number whose binomial sum reaches the odds: [KofN].

    Examples
    --------
    >>> spares_for(24, 0.02, 0.95)
    2
    """
    wanted, used = within(float(wanted_odds), _WANTED), int(within(float(in_use), _COUNT))
    return next(spares for spares in range(used + 1) if odds_at_most(spares, used, fail_odds) >= wanted)

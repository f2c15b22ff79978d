"""Hearing: how long a level may be borne, and what an evening adds up to.

The figures are NIOSH's, made for work; what binds is for local law and a qualified person to say. People differ, and
damage is not undone: a figure below a limit does not make a level safe.

Conventions: levels are A-weighted, slow, at the ear. A dose of 100 % is a full day's worth. NIOSH counts 3 dB for each
halving of the time, from 85 dB(A) for 8 hours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fieldfare.physics._numbers import Span, within

NIOSH_CRITERION_DBA = 85.0
NIOSH_EXCHANGE_DB = 3.0
WHO_VENUE_DBA = 100.0  # as a mean over 15 minutes, anywhere the audience is
WORKDAY_MIN = 480.0

_LEVEL = Span("level", "dB(A)", 0, 194, "give the A-weighted level at the ear")
_MINUTES = Span("time", "min", 0, 1440, "give minutes of one day")

Exposure = tuple[float, float]  # level in dB(A), time in minutes


def niosh_minutes(level_dba: float) -> float:
    """Time for which NIOSH lets a level be borne.

    Parameters
    ----------
    level_dba
        Steady level at the ear. [dB(A)]

    Returns
    -------
    Time. [min]

    Raises
    ------
    OutOfRange
        A level outside 0 to 194 dB(A), or not a number.

    Sources
    -------
    480 / 2^((L − 85)/3): [NIOSH98-126] table 1-1. The 15 minutes at 115 dB(A) that lists put here are OSHA's.

    Examples
    --------
    >>> niosh_minutes(100)
    15.0
    """
    over_db = within(float(level_dba), _LEVEL) - NIOSH_CRITERION_DBA
    return WORKDAY_MIN / math.pow(2, over_db / NIOSH_EXCHANGE_DB)


def niosh_dose_percent(exposures: Sequence[Exposure]) -> float:
    """Dose of a day by NIOSH.

    Parameters
    ----------
    exposures
        Level and time of each part of the day. [dB(A), min]

    Returns
    -------
    Dose, 100 being a full day's worth. [%]

    Raises
    ------
    OutOfRange
        A level outside 0 to 194 dB(A), a time outside a day, or not a number.

    Sources
    -------
    100 · Σ C/T: [NIOSH98-126].

    Examples
    --------
    >>> niosh_dose_percent([(94, 60), (91, 60)])
    150.0
    """
    return 100 * sum(within(float(time), _MINUTES) / niosh_minutes(level) for level, time in exposures)

"""Hearing: how long a level may be borne, and what an evening adds up to.

The figures are of rules made for work in several countries; which one binds is for local law and a qualified person to
say. People differ, and damage is not undone: a figure below a limit does not make a level safe.

Conventions: levels are A-weighted, slow, at the ear. A dose of 100 % is a full day's worth. NIOSH counts 3 dB for each
halving of the time, from 85 dB(A) for 8 hours; OSHA 5 dB, from 90.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows

NIOSH_CRITERION_DBA = 85.0
NIOSH_EXCHANGE_DB = 3.0
OSHA_CRITERION_DBA = 90.0
OSHA_EXCHANGE_DB = 5.0
OSHA_THRESHOLD_DBA = 80.0  # of the hearing conservation programme; the limit itself counts from 90
WHO_VENUE_DBA = 100.0  # as a mean over 15 minutes, anywhere the audience is
WORKDAY_MIN = 480.0

_LEVEL = Span("level", "dB(A)", 0, 194, "give the A-weighted level at the ear")
_CRITERION = Span("criterion level", "dB(A)", 0, 194, "give the level that may be borne for 8 hours")
_EXCHANGE = Span("exchange rate", "dB", 0, 10, "give by how many dB the time halves: 3 or 5", above=True)
_MINUTES = Span("time", "min", 0, 1440, "give minutes of one day")
_DOSE = Span("dose", "%", 0, 1e9, "a dose of nothing has no mean level", above=True)

Exposure = tuple[float, float]  # level in dB(A), time in minutes


class NoiseValue(NamedTuple):
    """One value of the British regulations: a mean over a day and a peak."""

    name: str
    daily_dba: float
    peak_dbc: float


def allowed_minutes(level_dba: float, criterion_dba: float, exchange_db: float) -> float:
    """Time for which a level makes a full day's dose.

    Parameters
    ----------
    level_dba
        Steady level at the ear. [dB(A)]
    criterion_dba
        Level that may be borne for 8 hours. [dB(A)]
    exchange_db
        By how much louder halves the time. [dB]

    Returns
    -------
    Time, not cut off at a day. [min]

    Raises
    ------
    OutOfRange
        A level outside 0 to 194 dB(A), an exchange rate of 0 or less, or not a number.

    Sources
    -------
    480 / 2^((L − Lc)/q): [NIOSH98-126], [OSHA1910.95], [CanadaNoise].

    Examples
    --------
    >>> allowed_minutes(93, criterion_dba=87, exchange_db=3)
    120.0
    """
    over = within(float(level_dba), _LEVEL) - within(float(criterion_dba), _CRITERION)
    return WORKDAY_MIN / math.pow(2, over / within(float(exchange_db), _EXCHANGE))


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
    return allowed_minutes(level_dba, NIOSH_CRITERION_DBA, NIOSH_EXCHANGE_DB)


def osha_minutes(level_dba: float) -> float:
    """Time for which OSHA lets a level be borne.

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
    480 / 2^((L − 90)/5): [OSHA1910.95] table G-16A.

    Examples
    --------
    >>> osha_minutes(100)
    120.0
    """
    return allowed_minutes(level_dba, OSHA_CRITERION_DBA, OSHA_EXCHANGE_DB)


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


def osha_dose_percent(exposures: Sequence[Exposure], threshold_dba: float = OSHA_THRESHOLD_DBA) -> float:
    """Dose of a day by OSHA.

    Parameters
    ----------
    exposures
        Level and time of each part of the day. [dB(A), min]
    threshold_dba
        Parts below it do not count: 80 for hearing conservation, 90 for the limit itself. [dB(A)]

    Returns
    -------
    Dose, 100 being a full day's worth. [%]

    Raises
    ------
    OutOfRange
        A level outside 0 to 194 dB(A), a time outside a day, or not a number.

    Sources
    -------
    100 · Σ C/T: [OSHA1910.95] I(1).

    Examples
    --------
    >>> osha_dose_percent([(100, 60), (90, 240), (85, 180)])
    118.75
    """
    threshold = within(float(threshold_dba), _CRITERION)
    parts = ((level, within(float(time), _MINUTES) / osha_minutes(level)) for level, time in exposures)
    return 100 * sum(share for level, share in parts if level >= threshold)


def niosh_twa_dba(dose_percent: float) -> float:
    """Steady level over 8 hours that makes the same dose by NIOSH.

    Parameters
    ----------
    dose_percent
        Dose. [%]

    Returns
    -------
    Time-weighted average. [dB(A)]

    Raises
    ------
    OutOfRange
        A dose of 0 or less, or not a number.

    Sources
    -------
    10·lg(D / 100) + 85: [NIOSH98-126].

    Examples
    --------
    >>> round(niosh_twa_dba(200), 2)
    88.01
    """
    return 10 * math.log10(within(float(dose_percent), _DOSE) / 100) + NIOSH_CRITERION_DBA


def osha_twa_dba(dose_percent: float) -> float:
    """Steady level over 8 hours that makes the same dose by OSHA.

    Parameters
    ----------
    dose_percent
        Dose. [%]

    Returns
    -------
    Time-weighted average. [dB(A)]

    Raises
    ------
    OutOfRange
        A dose of 0 or less, or not a number.

    Sources
    -------
    16.61·lg(D / 100) + 90: [OSHA1910.95] I(2).

    Examples
    --------
    >>> round(osha_twa_dba(50), 1)
    85.0
    """
    return 16.61 * math.log10(within(float(dose_percent), _DOSE) / 100) + OSHA_CRITERION_DBA


def lex_8h_dba(exposures: Sequence[Exposure]) -> float:
    """Daily exposure as Europe counts it: the energy of the day spread over 8 hours.

    Parameters
    ----------
    exposures
        Level and time of each part of the day. [dB(A), min]

    Returns
    -------
    Daily exposure level; minus infinity for a day of no time at all. [dB(A)]

    Raises
    ------
    OutOfRange
        A level outside 0 to 194 dB(A), a time outside a day, or not a number.

    Sources
    -------
    10·lg(Σ t·10^(L/10) / 480 min): [NoiseRegulations].

    Examples
    --------
    >>> round(lex_8h_dba([(100, 15)]), 2)
    84.95
    """
    energy = sum(
        within(float(time), _MINUTES) * math.pow(10, within(float(level), _LEVEL) / 10) for level, time in exposures
    )
    return 10 * math.log10(energy / WORKDAY_MIN) if energy else -math.inf


@cache
def noise_values() -> Mapping[str, NoiseValue]:
    """Return the action and limit values of the British regulations by name.

    Returns
    -------
    "lower action", "upper action" and "limit", the limit under the protectors. [dB(A), dB(C)]

    Raises
    ------
    Nothing: the table is part of the program.

    Sources
    -------
    [NoiseRegulations] regulation 4.

    Examples
    --------
    >>> noise_values()["upper action"]
    NoiseValue(name='upper action', daily_dba=85.0, peak_dbc=137.0)
    """
    return MappingProxyType(
        {
            row["name"]: NoiseValue(row["name"], float(row["daily_dba"]), float(row["peak_dbc"]))
            for row in rows("noise_at_work_2006.csv")
        }
    )

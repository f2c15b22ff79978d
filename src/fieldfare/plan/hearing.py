"""What the evening does to the ears of whoever sits beside the stage: always plugs."""

from __future__ import annotations

from fieldfare.physics.hearing import WHO_VENUE_DBA, niosh_dose_percent, niosh_minutes
from fieldfare.show.show import Show
from fieldfare.units.working import Given, Working


def exposure(show: Show) -> tuple[Working, ...]:
    """Tell how long a good venue's loudest permitted level may be borne, and the dose of this show's sets.

    The level is an assumption until somebody measures: the most that WHO's standard for venues allows.
    """
    level = Given(name="level", value=WHO_VENUE_DBA, unit="dB(A)")
    allowed = Working(
        value=round(niosh_minutes(WHO_VENUE_DBA), 1),
        unit="min",
        formula="480 / 2^((level − 85) / 3)",
        given=(level,),
        source="NIOSH98-126",
        sure="estimate",
    )
    minutes = sum(one.minutes for one in show.set)
    if not minutes:
        return (allowed,)
    dose = Working(
        value=round(niosh_dose_percent([(WHO_VENUE_DBA, minutes)])),
        unit="% of a day's dose",
        formula="100 · minutes / allowed minutes",
        given=(level, Given(name="minutes of the sets", value=minutes, unit="min")),
        source="NIOSH98-126",
        sure="estimate",
    )
    return (allowed, dose)

"""How loud a microphone that hears the room gets: everything that sounds there, directly and through the room.

Where there is a PA, the room is as loud as its engineer makes it, and no plan knows how loud that is: then the recipe's
range holds, unless the stage alone is louder. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from fieldfare.physics.levels import sum_incoherent
from fieldfare.plan.acts import in_set
from fieldfare.plan.recipes import Recipe
from fieldfare.plan.spill import Air, by_player, by_source, hear
from fieldfare.plan.wanted import Sounding, Wanted
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.working import Given, Working

PLUS_MINUS_DB = 6.0  # how far the loudest moment of all together is off, either way
NAMED = 3  # sources told one by one


def with_room_levels(
    wanted: tuple[Wanted, ...], sounding: tuple[Sounding, ...], recipes: Mapping[str, Recipe], air: Air, pa: bool
) -> tuple[Wanted, ...]:
    """Give the inputs that hear the room the level that the sources make there.

    Parameters
    ----------
    wanted
        All inputs.
    sounding
        Everything on the stage.
    recipes
        By name; they say which parts hear the room.
    air
        Temperature and room.
    pa
        Whether there is a PA.
    """
    found = {one.id: _levelled(one, sounding, air, pa) for one in wanted if sounding and _hears_room(one, recipes)}
    return tuple(_louder(found, found[one.id]) if one.id in found else one for one in wanted)


def _louder(found: Mapping[str, Wanted], one: Wanted) -> Wanted:
    """Both sides of a pair are expected as loud as the louder: they get one gain."""
    other = found.get(one.pair, one)
    return replace(one, spl_db=other.spl_db, room_spl=other.room_spl) if other.spl_db[1] > one.spl_db[1] else one


def has_pa(show: Show, venue: Venue) -> bool:
    """Tell whether anything says that there is a PA: its engineer, a stage box of the house, or a wedge."""
    return bool(show.house_engineer or venue.house_box or show.wedge)


def _hears_room(one: Wanted, recipes: Mapping[str, Recipe]) -> bool:
    parts = recipes[one.source.recipe].part
    return any(part.room and part.part == one.part for part in parts)


def _levelled(one: Wanted, sounding: Iterable[Sounding], air: Air, pa: bool) -> Wanted:
    heard = [
        hear(sound, one.at, one.aim, "omni", air, frozenset({sound.source, sound.never_with})) for sound in sounding
    ]
    numbers = sorted({number for there in heard for number in there.sets if in_set(one.sets, number)})
    by_set = [[there for there in heard if in_set(there.sets, number)] for number in numbers] or [heard]
    loudest = max(by_set, key=lambda there: sum_incoherent(list(by_player(there).values())))
    stage_db = sum_incoherent(list(by_player(loudest).values()))
    low_db, high_db = stage_db - PLUS_MINUS_DB, stage_db + PLUS_MINUS_DB
    if pa:
        low_db, high_db = max(low_db, one.spl_db[0]), max(high_db, one.spl_db[1])
    low_db, high_db = round(low_db, 1), round(high_db, 1)
    sources = sorted(by_source(loudest).items(), key=lambda pair: -pair[1])[:NAMED]
    pa_given = (Given(name="with a PA", value=f"{one.spl_db[0]:g} to {one.spl_db[1]:g}", unit="dB SPL"),) if pa else ()
    known = air.reverberation_s is not None
    working = Working(
        value=round((low_db + high_db) / 2, 1),
        unit="dB SPL",
        formula="10·lg Σ 10^(L / 10) over all that sounds there, "
        + ("direct and room" if known else "direct sound alone: the reverberation time is not known")
        + ("; no less than what a PA makes of it" if pa else ""),
        given=(
            *(Given(name=source, value=round(level, 1), unit="dB SPL") for source, level in sources),
            Given(name="the stage together", value=round(stage_db, 1), unit="dB SPL"),
            *pa_given,
        ),
        source="SSE",
        sure="estimate" if known else "guess",
        plus_minus=round((high_db - low_db) / 2, 1),
    )
    return replace(one, spl_db=(low_db, high_db), room_spl=working)

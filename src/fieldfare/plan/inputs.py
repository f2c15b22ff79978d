"""From sources to wanted inputs and to what sounds on the stage, by recipe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import cos, dist, hypot, log10, radians, sin

from fieldfare.plan.acts import Sets, sets_of
from fieldfare.plan.recipes import Offset, Part, Piece, Recipe, Sound
from fieldfare.plan.room_level import has_pa, with_room_levels
from fieldfare.plan.spill import air
from fieldfare.plan.wanted import Accept, Sounding, Wanted
from fieldfare.show.record import Place3
from fieldfare.show.show import HouseMic, Show, Source
from fieldfare.show.venue import Venue
from fieldfare.units.faults import BadDocuments, Blemish
from fieldfare.units.text import listed, nearest, slug

SPLIT = "the house has a microphone there: its split costs no second stand and no second place at the mouth"
BESIDE_SCORE = 0.6  # of its own, what a mic is worth that has to stand beside that of the house


@dataclass(frozen=True, slots=True)
class _Seat:
    """A source on its floor, with its recipe."""

    source: Source
    recipe: Recipe
    floor_m: float
    louder_db: float  # than the recipe thinks
    sets: Sets  # in which it sounds

    def place(self, offset: Offset) -> Place3:
        """Turn an offset of the source's own frame into stage coordinates."""
        ahead, left, up = offset
        turn = radians(self.source.facing_deg)
        x = self.source.at[0] + ahead * cos(turn) - left * sin(turn)
        y = self.source.at[1] + ahead * sin(turn) + left * cos(turn)
        return (_tidy(x), _tidy(y), _tidy(self.floor_m + up))

    def direction(self, offset: Offset) -> Place3:
        """Turn a direction of the source's own frame into a unit vector in stage coordinates."""
        length = hypot(*offset)
        ahead, left, up = (part / length for part in offset)
        turn = radians(self.source.facing_deg)
        across = (ahead * cos(turn) - left * sin(turn), ahead * sin(turn) + left * cos(turn))
        return (_tidy(across[0], 4), _tidy(across[1], 4), _tidy(up, 4))

    def number_of(self, piece: Piece) -> int:
        """Return how many of a part or sound there are."""
        return self.source.counts.get(piece.count, self.recipe.usual[piece.count]) if piece.count else 1

    def has(self, piece: Piece) -> bool:
        """Tell whether this source has what the part or sound needs."""
        there = (not piece.when or piece.when in self.source.has) and piece.unless not in self.source.has
        return there and self.number_of(piece) > 0


def wanted_inputs(show: Show, venue: Venue, recipes: Mapping[str, Recipe]) -> tuple[Wanted, ...]:
    """List every input that somebody would like to have: drums first, voices and rooms last.

    Parameters
    ----------
    show, venue
        The documents.
    recipes
        By name.

    Returns
    -------
    The inputs in the order of the input list, each with an id of its own. An id stays the same when a later source
    is added.

    Raises
    ------
    BadDocuments
        A source asks for a recipe, a count, a part or a word that does not exist; all that do are named.
    """
    seats = _seats(show, venue, recipes)
    ids: set[str] = set()
    rows: list[tuple[tuple[float, ...], Wanted]] = []
    for number, seat in enumerate(seats):
        for piece, wanted in enumerate(_of_source(seat, venue, ids)):
            rows.append(((seat.recipe.order, seat.source.at[0], number, piece), wanted))
    rows.sort(key=lambda row: row[0])
    found = tuple(replace(wanted, order=order) for order, (_, wanted) in enumerate(rows, start=1))
    sounding = soundings(show, venue, recipes)
    return with_room_levels(found, sounding, recipes, air(venue), pa=has_pa(show, venue))


def soundings(show: Show, venue: Venue, recipes: Mapping[str, Recipe]) -> tuple[Sounding, ...]:
    """List everything that makes sound on the stage, possible sources too.

    Parameters
    ----------
    show, venue
        The documents.
    recipes
        By name.

    Raises
    ------
    BadDocuments
        As for the wanted inputs.
    """
    silent = _never_together(show)
    return tuple(
        Sounding(
            source=seat.source.name,
            part=_numbered(sound.name, index, sound.count),
            at=seat.place(sound.at[index]),
            level_db=sound.level_db + seat.louder_db,
            plus_minus_db=sound.plus_minus_db,
            directivity=sound.directivity,
            never_with=silent.get(seat.source.name, ""),
            sets=seat.sets,
            alone=seat.source.alone,
        )
        for seat in _seats(show, venue, recipes)
        for sound in seat.recipe.sound
        if seat.has(sound)
        for index in range(seat.number_of(sound))
    )


def floor_m(venue: Venue, x: float, y: float) -> float:
    """Return the height of the floor at a place: a riser, the stage, or the room's floor beside it.

    Parameters
    ----------
    venue
        The stage with its risers.
    x, y
        Place. [m]

    Returns
    -------
    Height over the stage floor; below zero beside a raised stage. [m]
    """
    on = [
        riser.height_m
        for riser in venue.riser
        if abs(x - riser.at[0]) <= riser.size_m[0] / 2 and abs(y - riser.at[1]) <= riser.size_m[1] / 2
    ]
    if on:
        return max(on)
    on_stage = abs(x) <= venue.stage.width_m / 2 and 0 <= y <= venue.stage.depth_m
    return 0.0 if on_stage else -venue.stage.height_m


def _seats(show: Show, venue: Venue, recipes: Mapping[str, Recipe]) -> tuple[_Seat, ...]:
    wrong = tuple(one for source in show.sources for one in _wrong(source, recipes))
    if wrong:
        raise BadDocuments(wrong)
    seats, sets = [], sets_of(show)
    for source in show.sources:
        recipe = recipes[source.recipe]
        loudest = max((sound.level_db for sound in recipe.sound), default=None)
        louder = source.level_db - loudest if source.level_db is not None and loudest is not None else 0.0
        seats.append(_Seat(source, recipe, floor_m(venue, *source.at), louder, sets[source.name]))
    return tuple(seats)


def _wrong(source: Source, recipes: Mapping[str, Recipe]) -> Iterator[Blemish]:
    """Tell what a source asks for that does not exist."""
    recipe = recipes.get(source.recipe)
    if recipe is not None:
        yield from (
            _blemish(source, *one) for one in dict.fromkeys((*_words(source, recipe), *_counts(source, recipe)))
        )
        return
    close = nearest(source.recipe, recipes)
    remedy = f"did you mean {close!r}?" if close else "fieldfare recipes lists them"
    yield _blemish(source, "recipe", f"there is no recipe {source.recipe!r}", remedy)


def _blemish(source: Source, field: str, read: str, remedy: str) -> Blemish:
    return Blemish("show.toml", f'source "{source.name}"', field, read, remedy)


def _words(source: Source, recipe: Recipe) -> Iterator[tuple[str, str, str]]:
    asked = (
        ("has", source.has, (*recipe.uses, "own lead")),
        ("counts", tuple(source.counts), tuple(recipe.usual)),
        ("leave_out", source.leave_out, tuple(part.part for part in recipe.part)),
    )
    for field, words, known in asked:
        for word in (one for one in words if one not in known):
            close = nearest(word, known)
            out = f"take it out; known: {listed(known)}" if known else "take it out"
            remedy = f"did you mean {close!r}?" if close else out
            yield field, f"the recipe {recipe.name!r} has no use for {word!r}", remedy


def _counts(source: Source, recipe: Recipe) -> Iterator[tuple[str, str, str]]:
    for piece in recipe.pieces:
        number = source.counts.get(piece.count, 0)
        if number > len(piece.at) or number < 0:
            read = f"{number} {piece.count} are more than the recipe {recipe.name!r} has places for"
            yield "counts", read, f"give 0 to {len(piece.at)}, or a recipe of your own with more places"


def _of_source(seat: _Seat, venue: Venue, ids: set[str]) -> Iterator[Wanted]:
    for part in seat.recipe.part:
        if part.part in seat.source.leave_out or not seat.has(part):
            continue
        number = 2 if part.stereo else seat.number_of(part)
        places = [seat.place(offset) for offset in part.at[:number]]
        sides = sorted(range(2), key=lambda side: places[side][:2]) if part.stereo else list(range(number))
        labels = [_label(seat.source, part, name, ids) for name in _names(part, number)]
        fresh = [_fresh_id(label, seat.source, ids) for label in labels]
        for spot, (index, label, own) in enumerate(zip(sides, labels, fresh, strict=True)):
            wanted = _wanted(seat, part, venue, places[index], 0 if part.stereo else index)
            aim = seat.direction(part.aim[index]) if part.aim else wanted.aim
            yield replace(wanted, id=own, label=label, aim=aim, pair=fresh[1 - spot] if part.stereo else "")


def _wanted(seat: _Seat, part: Part, venue: Venue, at: Place3, index: int) -> Wanted:
    source = seat.source
    heard = [sound for sound in seat.recipe.sound if seat.has(sound) and (not part.hears or sound.name in part.hears)]
    sound_at = seat.place(part.sound_at) if part.sound_at else _middle([_spot(seat, sound, index) for sound in heard])
    away = dist(at, sound_at)
    return Wanted(
        id="",
        label="",
        source=source,
        part=_numbered(part.part, index, part.count),
        importance=source.importance or part.importance,
        order=0,
        at=at,
        aim=_towards(at, sound_at),
        sound_at=sound_at,
        distance_m=_tidy(away),
        spl_db=_spl(seat, part, heard, away),
        accept=_accept(source, part),
        stands=part.stand,
        matched=part.matched,
        house_mic=_house_mic(source, venue) if any(way.taking == "mic" for way in part.way) else None,
        signal_dbu=part.pickup.level_dbu if part.pickup else None,
        source_ohm=part.pickup.source_ohm if part.pickup else 150.0,
        lead_end=part.pickup.lead_end if part.pickup else "jack-ts",
        flip=part.flip,
        why=part.why,
        hears=tuple(_numbered(sound.name, index, sound.count) for sound in heard) if part.hears else (),
        height_m=_tidy(at[2] - floor_m(venue, at[0], at[1])),
        own_lead="own lead" in source.has,
        sets=seat.sets,
    )


def _house_mic(source: Source, venue: Venue) -> HouseMic | None:
    """The house's microphone there; where the house has one stage box alone, its line ends on that."""
    mic, boxes = source.house_mic, venue.house_box
    if mic is None or mic.house_box or len(boxes) != 1:
        return mic
    return mic.model_copy(update={"house_box": boxes[0].name})


def _accept(source: Source, part: Part) -> tuple[Accept, ...]:
    ways = tuple(way.accept for way in part.way)
    if source.house_mic is None or all(way.taking != "mic" for way in part.way):
        return ways
    split = Accept(taking="split", score=100, why=SPLIT)
    if not part.beside_house_mic:
        return (split, *(way for way in ways if way.taking != "mic"))
    beside = (replace(way, score=round(way.score * BESIDE_SCORE)) if way.taking == "mic" else way for way in ways)
    return (split, *sorted(beside, key=lambda way: -way.score))


def _spl(seat: _Seat, part: Part, heard: list[Sound], away_m: float) -> tuple[float, float]:
    if part.spl_db:
        return (part.spl_db[0] + seat.louder_db, part.spl_db[1] + seat.louder_db)
    if not heard:
        return (0.0, 0.0)
    loudest = max(heard, key=lambda sound: sound.level_db)
    there = loudest.level_db + seat.louder_db - 20 * log10(max(away_m, 0.05))
    return (_tidy(there - loudest.plus_minus_db, 1), _tidy(there + loudest.plus_minus_db, 1))


def _names(part: Part, number: int) -> list[str]:
    if part.stereo:
        return [f"{part.label} left", f"{part.label} right"]
    return [_numbered(part.label, index, part.count) for index in range(number)]


def _numbered(name: str, index: int, count: str) -> str:
    return f"{name} {index + 1}" if count else name


def _label(source: Source, part: Part, name: str, ids: set[str]) -> str:
    """Name an input as its recipe does, with the source's name before it where another source was there first."""
    text = name.replace("{source}", source.name)
    if slug(text) in ids and "{source}" not in part.label:
        text = f"{source.name} {text[0].lower()}{text[1:]}"
    return text[0].upper() + text[1:]


def _fresh_id(label: str, source: Source, ids: set[str]) -> str:
    """Return an id that nothing has yet: the label, else with the source before it, else with a number after."""
    stem = slug(label)
    tries = [stem, f"{slug(source.name)}-{stem}", *(f"{stem}-{number}" for number in range(2, len(ids) + 3))]
    own = next(one for one in tries if one not in ids)
    ids.add(own)
    return own


def _spot(seat: _Seat, sound: Sound, index: int) -> Place3:
    return seat.place(sound.at[index] if sound.count else sound.at[0])


def _towards(start: Place3, end: Place3) -> Place3:
    away = dist(start, end) or 1.0
    x, y, z = ((b - a) / away for a, b in zip(start, end, strict=True))
    return (_tidy(x, 4), _tidy(y, 4), _tidy(z, 4))


def _middle(places: list[Place3]) -> Place3:
    x, y, z = (sum(axis) / len(places) for axis in zip(*places, strict=True))
    return (_tidy(x), _tidy(y), _tidy(z))


def _never_together(show: Show) -> dict[str, str]:
    pairs = [(source.name, source.doubles_with) for source in show.sources if source.doubles_with]
    return {**{other: name for name, other in pairs}, **dict(pairs)}


def _tidy(value: float, decimals: int = 3) -> float:
    return round(value, decimals) + 0.0  # no minus zero

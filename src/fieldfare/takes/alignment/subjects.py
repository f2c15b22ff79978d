"""Which tracks stand close to a source, which listen, and which of them share a source."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

from fieldfare.show.alignment import PairKind
from fieldfare.takes.axis import AxisTrack
from fieldfare.takes.rough.roles import is_aside, side_of, stem_of, words_of

SAME_PLACE_M = 0.3  # sources of other names that are closer than this are one place: a player who changes instruments
LONGEST_S: dict[str, float] = {"overhead": 0.06, "room": 0.12, "house mix": 0.12, "spill": 0.06}
FELLOW_S = 0.012  # 4 m: from a DI to the mic at its amplifier, or a mic out in front of it
_LEAST_S = -0.0005
_DI_WORDS = frozenset(("di", "pickup", "piezo", "line"))


def is_close(track: AxisTrack) -> bool:
    """Tell whether a track has a source of its own."""
    return track.role in ("close", "voice")


def is_di(track: AxisTrack) -> bool:
    """Tell whether a track comes from a pickup or a line, and hears no air."""
    if track.drawn is not None:
        return track.drawn.taking in ("di", "line")
    return bool(words_of(track.label) & _DI_WORDS)


def are_fellows(one: AxisTrack, other: AxisTrack) -> bool:
    """Tell whether two close tracks share a source."""
    if not (is_close(one) and is_close(other)):
        return False
    a, b = one.drawn, other.drawn
    if a is None or b is None or not (a.source and b.source):
        return _stem(one) == _stem(other)
    if a.sound_at and b.sound_at:
        if a.source == b.source:
            return bool(set(a.sound_at) & set(b.sound_at)) or is_di(one) or is_di(other)
        return min(dist(here, there) for here in a.sound_at for there in b.sound_at) < SAME_PLACE_M
    return a.source.casefold() == b.source.casefold()


def are_sides(one: AxisTrack, other: AxisTrack) -> bool:
    """Tell whether two tracks are the two sides of a stereo pair: what lies between them in time is its width."""
    a, b = one.drawn, other.drawn
    if a is not None and b is not None and (a.pair or b.pair):
        return a.pair == b.id
    return _stem(one) == _stem(other) and side_of(one.label) * side_of(other.label) < 0


def _stem(track: AxisTrack) -> str:
    return stem_of(track.label.replace("_", " "))


def kind_of(source: AxisTrack, listener: AxisTrack) -> PairKind:
    """Tell what sort of pair two tracks are."""
    by_role: dict[str, PairKind] = {"overhead": "overhead", "room": "room", "mix": "house mix"}
    if listener.role in by_role:
        return by_role[listener.role]
    if not are_fellows(source, listener):
        return "spill"
    if is_di(source) != is_di(listener):
        return "DI and mic"
    if not _one_source(source, listener):
        return "spill"
    split = [track.drawn is not None and track.drawn.taking == "split" for track in (source, listener)]
    return "split and own mic" if split[0] != split[1] else "two mics"


def _one_source(one: AxisTrack, other: AxisTrack) -> bool:
    """Whether fellows hear one and the same instrument, and not two of one player."""
    if one.drawn is None or other.drawn is None or not (one.drawn.source and other.drawn.source):
        return True
    return one.drawn.source.casefold() == other.drawn.source.casefold()


def within_s(source: AxisTrack, listener: AxisTrack) -> tuple[float, float]:
    """Least and most delay that is looked for. [s]

    What is heard far from its source is heard later there; two tracks close to one source may be either way round.
    """
    if are_fellows(source, listener):
        return (-FELLOW_S, FELLOW_S)
    return (_LEAST_S, LONGEST_S[kind_of(source, listener)])


def pairs_of(tracks: Sequence[AxisTrack], silent: Sequence[bool]) -> list[tuple[int, int]]:
    """Return every pair that is measured: the track close to a source, and one that hears it too.

    Two tracks close to one source are one pair, the DI first, else the first mic as the plan has them; the two sides of
    a stereo pair are none. A DI is listened with too: that it hears nobody else says what it is.
    """
    heard = [place for place in range(len(tracks)) if not silent[place]]
    found = []
    for a in heard:
        for b in heard:
            if a == b or not is_close(tracks[a]) or tracks[b].role == "talk":
                continue
            if are_fellows(tracks[a], tracks[b]):
                if _rank(tracks, a) < _rank(tracks, b) and not are_sides(tracks[a], tracks[b]):
                    found.append((a, b))
            else:
                found.append((a, b))
    return found


def _rank(tracks: Sequence[AxisTrack], place: int) -> tuple[bool, bool, int]:
    track = tracks[place]
    aside = is_aside(track.drawn.part if track.drawn else "", track.label)
    return (not is_di(track), aside, place)

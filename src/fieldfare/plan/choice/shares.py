"""Who may use whose row: two sources of one player, or sources of acts that never play together.

A guest uses the row of its host: line, socket, preamp, channel and track. It takes it in one of three ways:
"stays" uses the host's mic or DI where it is, "carried" the host's mic at another place, and "own" plugs a mic or DI of
its own into the host's line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import dist
from typing import TYPE_CHECKING, Literal

from fieldfare.plan.acts import apart, in_set
from fieldfare.show.show import Importance

if TYPE_CHECKING:
    from fieldfare.plan.choice.case import Input

SHARE_MIC_M = 1.0  # how far apart two places may be at which a mic serves without being carried
MOUTH_M = 0.3  # as far as a head moves
IMPORTANCES: tuple[Importance, ...] = ("must", "want", "nice")

Manner = Literal["stays", "carried", "own"]


@dataclass(frozen=True, slots=True)
class Share:
    """One input may use the row of another, in one manner; inputs go by their numbers."""

    guest: int
    host: int
    manner: Manner
    acts: bool  # of two acts; else two sources of one player
    mouth: bool = False  # one player, one mouth: who sings and talks between the songs

    @property
    def pair(self) -> tuple[int, int]:
        """Guest and host."""
        return self.guest, self.host


def shares_among(inputs: Sequence[Input]) -> tuple[Share, ...]:
    """List every way in which an input may use the row of another.

    The guest is the less important of the two, or the later one. Both sides of a stereo pair go to both sides of
    another, or neither does.
    """
    by_id = {one.wanted.id: number for number, one in enumerate(inputs)}
    mate = {number: by_id.get(one.wanted.pair, -1) for number, one in enumerate(inputs)}
    found = [
        Share(guest, host, manner, _acts(inputs[guest], inputs[host]), _one_mouth(inputs[guest], inputs[host]))
        for guest in range(len(inputs))
        for host in range(len(inputs))
        if _after(inputs, guest, host)
        for manner in _manners(inputs[guest], inputs[host])
    ]
    whole = {(one.guest, one.host, one.manner) for one in found}
    return tuple(one for one in found if _paired(mate, one, whole))


def _after(inputs: Sequence[Input], guest: int, host: int) -> bool:
    ranks = [(IMPORTANCES.index(inputs[number].importance), number) for number in (guest, host)]
    return ranks[0] > ranks[1]


def _acts(one: Input, other: Input) -> bool:
    return apart(one.wanted.sets, other.wanted.sets)


def _one_mouth(one: Input, other: Input) -> bool:
    a, b = one.wanted, other.wanted
    same = bool(a.source.player) and a.source.player == b.source.player
    return same and dist(a.sound_at, b.sound_at) <= MOUTH_M


def _manners(guest: Input, host: Input) -> Iterator[Manner]:
    a, b = guest.wanted, host.wanted
    doubled = a.source.doubles_with == b.source.name or b.source.doubles_with == a.source.name
    if _acts(guest, host):
        yield "stays" if dist(a.at, b.at) <= SHARE_MIC_M else "carried"
        yield "own"
    elif doubled and dist(a.at[:2], b.at[:2]) <= SHARE_MIC_M and not a.pair and not b.pair:
        yield "stays"


def _paired(mate: Mapping[int, int], one: Share, whole: set[tuple[int, int, Manner]]) -> bool:
    guest, host = mate[one.guest], mate[one.host]
    if guest < 0 and host < 0:
        return True
    same_side = guest >= 0 and host >= 0 and (guest > one.guest) == (host > one.host)
    return same_side and one.manner != "carried" and (guest, host, one.manner) in whole


def sets_in(inputs: Sequence[Input]) -> tuple[int, ...]:
    """List the sets that differ in who plays; one where all play in all."""
    return tuple(sorted({number for one in inputs for number in one.wanted.sets})) or (0,)


def plays(one: Input, number: int) -> bool:
    """Tell whether an input is needed in a set."""
    return in_set(one.wanted.sets, number)

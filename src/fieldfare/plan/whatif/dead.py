"""What has died, or is taken to: units, lines of the trunk, sockets of a box, channels."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from fieldfare.plan.choice.case import recorder_of, trunk_lines
from fieldfare.plan.choice.stock import natural
from fieldfare.show.kit import Kit, Numbered
from fieldfare.show.plan import Plan
from fieldfare.units.faults import Fault
from fieldfare.units.text import nearest

_LINE = re.compile(r"^line (\d+)$", re.IGNORECASE)
_CHANNEL = re.compile(r"^channel (\d+)$", re.IGNORECASE)
_OF_UNIT = re.compile(r"^(?P<tag>.+?) (?P<part>socket|channel) (?P<number>\d+)$", re.IGNORECASE)
WRITTEN = 'write a tag ("M-07"), "line 5", "channel 3", "B-01 socket 2" or "P-1 channel 1"'


@dataclass(frozen=True, slots=True)
class Dead:
    """What cannot be used any more."""

    tags: frozenset[str] = frozenset()
    lines: frozenset[int] = frozenset()  # of the trunk
    sockets: frozenset[tuple[str, int]] = frozenset()  # tag of the box, number
    channels: frozenset[int] = frozenset()  # of the recorder
    spots: frozenset[tuple[str, int]] = frozenset()  # tag of a preamp outside the recorder, its channel

    def words(self) -> tuple[str, ...]:
        """Name all of it, as `dead_of` reads it.

        >>> Dead(tags=frozenset({"M-07"}), lines=frozenset({5}), sockets=frozenset({("B-01", 2)})).words()
        ('M-07', 'line 5', 'B-01 socket 2')
        """
        return (
            *sorted(self.tags, key=natural),
            *(f"line {line}" for line in sorted(self.lines)),
            *(f"{tag} socket {socket}" for tag, socket in sorted(self.sockets)),
            *(f"channel {channel}" for channel in sorted(self.channels)),
            *(f"{tag} channel {channel}" for tag, channel in sorted(self.spots)),
        )


def dead_of(words: Iterable[str], kit: Kit, plan: Plan) -> Dead:
    """Read what has died from words.

    Parameters
    ----------
    words
        Each a tag ("M-07"), "line 5", "channel 3", "B-01 socket 2" or "P-1 channel 1".
    kit
        Whose tags there are.
    plan
        How many channels the recorder has.

    Raises
    ------
    Fault
        A word that names nothing that there is.
    """
    read = [_one(" ".join(word.split()), kit, plan) for word in words]
    return Dead(
        tags=frozenset().union(*(one.tags for one in read)),
        lines=frozenset().union(*(one.lines for one in read)),
        sockets=frozenset().union(*(one.sockets for one in read)),
        channels=frozenset().union(*(one.channels for one in read)),
        spots=frozenset().union(*(one.spots for one in read)),
    )


def fresh(dead: Dead, kit: Kit) -> Dead:
    """Leave out sockets, lines and channels that the kit marks dead already: nothing has been planned on them."""
    things = {tag: thing for thing in kit.things if isinstance(thing, Numbered) for tag in thing.tags}
    gone = {(tag, number) for tag, thing in things.items() for number in thing.dead.get(tag, ())}
    lines = {line[number - 1] for tag, line in trunk_lines(kit).items() for one, number in gone if one == tag}
    return replace(
        dead,
        lines=dead.lines - lines,
        sockets=dead.sockets - gone,
        channels=dead.channels - {number for tag, number in gone if tag == recorder_of(kit)[1]},
        spots=dead.spots - gone,
    )


def _one(word: str, kit: Kit, plan: Plan) -> Dead:
    tags = {tag.casefold(): tag for thing in kit.things for tag in thing.tags}
    if word.casefold() in tags:
        return Dead(tags=frozenset({tags[word.casefold()]}))
    if found := _LINE.match(word):
        lines = sum(thing.lines * len(thing.good_tags) for thing in kit.trunk)
        return Dead(lines=frozenset({_within(int(found[1]), lines, word, "line of a trunk")}))
    if found := _CHANNEL.match(word):
        return Dead(channels=frozenset({_within(int(found[1]), plan.channels, word, "channel of the recorder")}))
    if (found := _OF_UNIT.match(word)) and (tag := tags.get(found["tag"].casefold())):
        number, sizes = int(found["number"]), dict(_sizes(kit))
        if found["part"].casefold() == "socket" and tag in sizes:
            return Dead(sockets=frozenset({(tag, _within(number, sizes[tag], word, f"socket of {tag}"))}))
        channels = {unit: thing.channels for thing in kit.preamp for unit in thing.tags}
        if found["part"].casefold() == "channel" and tag in channels:
            return Dead(spots=frozenset({(tag, _within(number, channels[tag], word, f"channel of {tag}"))}))
    close = nearest(word, tags.values())
    raise Fault(f"nothing is called {word!r}", "what is dead", f"did you mean {close}?" if close else WRITTEN)


def _sizes(kit: Kit) -> Iterator[tuple[str, int]]:
    yield from ((tag, thing.lines) for thing in kit.box for tag in thing.tags)


def _within(number: int, most: int, word: str, what: str) -> int:
    if not 1 <= number <= most:
        there = f"there are {most}" if most else "there is none"
        raise Fault(f"{word!r} is no {what}", "what is dead", f"{there}; {WRITTEN}")
    return number

"""What may be said after an offload: what lies where, what is missing, and whether that is enough to wipe the card."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from fieldfare.show.findings import CopiedFile, OffloadReport
from fieldfare.takes.offload.card import CardFile, Listing
from fieldfare.takes.offload.device import Device
from fieldfare.takes.offload.disk import HOWS
from fieldfare.takes.offload.journal import Digest, Line
from fieldfare.takes.offload.place import Place
from fieldfare.units.text import listed, printable

_SAID_OF_HOW = {
    HOWS[0]: "read back from the medium, around the system's cache",
    HOWS[1]: "read back after the system was asked to empty its cache",
    HOWS[2]: "read back, but this system may have answered from its cache and not from the medium",
}


@dataclass(slots=True)
class Outcome:
    """Everything found out during an offload."""

    card: str
    source: Device
    listing: Listing
    places: Sequence[Place]
    digest: dict[str, Digest] = field(default_factory=dict)
    trouble: dict[str, list[str]] = field(default_factory=dict)
    equal: dict[str, dict[int, Line]] = field(default_factory=dict)  # file, number of the place
    changed: list[str] = field(default_factory=list)  # sentences on the card, if it changed meanwhile
    not_measured: dict[str, str] = field(default_factory=dict)  # file, why

    def add_trouble(self, name: str, *troubles: str) -> None:
        """Note trouble with a file."""
        self.trouble.setdefault(name, []).extend(one for one in troubles if one)


def make_report(outcome: Outcome) -> OffloadReport:
    """Draw up the report."""
    safe = {file.name: _is_safe(outcome, file) for file in outcome.listing.file}
    missing = [*outcome.listing.passed_over, *outcome.changed]
    if not outcome.listing.file:
        missing.append("the card holds no file: check that it is the right one, and mounted")
    notes = _notes(outcome)
    (notes if all(safe.values()) else missing).extend(_about_places(outcome))
    missing += [
        sentence for file in outcome.listing.file if (sentence := _missing_copies(outcome, file, safe[file.name]))
    ]
    return OffloadReport(
        card=printable(outcome.card),
        destination=tuple(printable(str(place.root)) for place in outcome.places),
        devices=len(_apart([place.device for place in outcome.places])),
        file=tuple(_copied(outcome, file) for file in outcome.listing.file),
        complete=not missing and all(safe.values()),
        missing=tuple(map(printable, missing)),
        notes=tuple(map(printable, notes)),
        finished=dt.datetime.now(dt.UTC).replace(microsecond=0),
    )


def _copied(outcome: Outcome, file: CardFile) -> CopiedFile:
    digest = outcome.digest.get(file.name)
    return CopiedFile(
        path=printable(file.name),
        bytes=file.bytes,
        sha256=digest.sha256 if digest else "",
        read_back=tuple(printable(str(outcome.places[place].root)) for place in sorted(_equal(outcome, file))),
        trouble=tuple(map(printable, outcome.trouble.get(file.name, ()))),
    )


def _equal(outcome: Outcome, file: CardFile) -> dict[int, Line]:
    return outcome.equal.get(file.name, {})


def _apart(devices: Sequence[Device]) -> Sequence[Device]:
    """Return the largest set of devices of which no two share a disc."""
    for size in range(len(devices), 1, -1):
        for chosen in itertools.combinations(devices, size):
            if not any(one.shares_with(other) for one, other in itertools.combinations(chosen, 2)):
                return chosen
    return devices[:1]


def _counts(outcome: Outcome, place: Place) -> bool:
    """Whether a copy there outlives both the card and the night."""
    return not place.device.memory and not place.device.shares_with(outcome.source)


def _is_safe(outcome: Outcome, file: CardFile) -> bool:
    """Whether the file was read back equal from two devices that are neither each other's nor the card's."""
    places = [outcome.places[place] for place in _equal(outcome, file)]
    return len(_apart([place.device for place in places if _counts(outcome, place)])) >= 2


def _about_places(outcome: Outcome) -> list[str]:
    """Say which places do not count, and why; whether that matters depends on the others."""
    said = [
        f"{place.root} lies in memory, which is gone when the machine is switched off: it does not count as a copy"
        for place in outcome.places
        if place.device.memory
    ]
    said += [
        f"{place.root} is on the same device as the card: it does not count as a second device"
        for place in outcome.places
        if place.device.shares_with(outcome.source)
    ]
    said += [f"{place.root} took no more: {place.lost}" for place in outcome.places if place.lost]
    if len(_apart([place.device for place in outcome.places if _counts(outcome, place)])) < 2:
        said.append("the copies do not lie on two different devices: offload to one more before the card is wiped")
    return said


def _missing_copies(outcome: Outcome, file: CardFile, safe: bool) -> str:
    lacking = [place for number, place in enumerate(outcome.places) if number not in _equal(outcome, file)]
    if safe or not lacking:
        return ""
    trouble = "; ".join(outcome.trouble.get(file.name, ()))
    where = listed(str(place.root) for place in lacking)
    return f"{file.name} was not read back equal from {where}{f': {trouble}' if trouble else ''}"


def _notes(outcome: Outcome) -> list[str]:
    notes = [
        f"{name} belongs to the operating system, may not be read and was passed over"
        for name in outcome.listing.system
    ]
    notes += [f"{name} was copied but could not be measured ({why})" for name, why in outcome.not_measured.items()]
    for number, place in enumerate(outcome.places):
        hows = {line.how for lines in outcome.equal.values() if (line := lines.get(number))}
        worst = max((one for one in HOWS if one in hows), key=HOWS.index, default=None)
        if worst is not None:
            notes.append(f"{place.root}: {_SAID_OF_HOW[worst]}")
    return notes

"""Whether everybody agreed: who must be asked, what stands, and what is missing. A record, not advice on law.

Being in a band at a concert is no consent, and what goes beyond making the recording needs words of its own: common
practice, no source. What the law of a country asks for is for the user, and for those who may advise on it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import file_digest, sha256
from pathlib import Path, PurePosixPath

from fieldfare.handover.names import safe_name, told_apart
from fieldfare.plan.recipes import Recipe
from fieldfare.show.consent import EVIDENCE, Consent, ConsentBook, Side, Use
from fieldfare.show.files import write_whole
from fieldfare.show.show import Show, Source
from fieldfare.show.venue import Venue
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed


@dataclass(frozen=True, slots=True)
class Party:
    """Somebody who must be asked."""

    name: str
    side: Side
    plays: tuple[str, ...] = ()
    possible: bool = False  # nobody has said yet whether they play at all

    @property
    def does(self) -> str:
        """What they play, in words; blank for a venue."""
        return listed(self.plays)


def parties(show: Show, venue: Venue, recipes: Mapping[str, Recipe], book: ConsentBook) -> tuple[Party, ...]:
    """List who must be asked: every player, the venue, and whoever else has given a word.

    A source without a player counts by its own name, unless nothing sounds in it by its recipe, as in a pair of room
    microphones.
    """
    plays: dict[str, list[Source]] = {}
    for source in show.sources:
        recipe = recipes.get(source.recipe)
        if source.player or recipe is None or recipe.sound:
            plays.setdefault(source.player or source.name, []).append(source)
    found = [
        Party(name, "performer", tuple(one.name for one in played), all(one.status == "possible" for one in played))
        for name, played in plays.items()
    ]
    found.append(Party(venue.name, "venue"))
    known = {one.name for one in found}
    others = {one.of: one.side for one in book.consent if one.of not in known}
    return (*found, *(Party(name, side) for name, side in others.items()))


def standing_consents(book: ConsentBook, name: str, day: dt.date) -> dict[Use, Consent]:
    """Return what somebody agrees to on a day: the latest word on each use, where that is yes and still holds."""
    found: dict[Use, Consent] = {}
    said = [one for one in book.consent if one.of == name and one.on <= day]
    for consent in sorted(said, key=lambda one: one.on):
        for use in consent.uses:
            if consent.given:
                found[use] = consent
            else:
                found.pop(use, None)
    return {use: one for use, one in found.items() if one.until is None or one.until >= day}


def missing_consents(
    asked: Iterable[Party], book: ConsentBook, uses: Sequence[Use], day: dt.date, folder: Path
) -> tuple[str, ...]:
    """Say what is missing before something may leave for some uses, one sentence each; nothing where all is there.

    Parameters
    ----------
    asked
        Who must have agreed.
    book
        What was recorded.
    uses
        What it is for.
    day
        When it leaves.
    folder
        The show's folder, where the evidence lies.
    """
    return tuple(sentence for party in asked for sentence in _missing(party, book, uses, day, folder))


def _missing(party: Party, book: ConsentBook, uses: Sequence[Use], day: dt.date, folder: Path) -> Iterator[str]:
    stands = standing_consents(book, party.name, day)
    lacking = [use for use in uses if use not in stands]
    if lacking:
        taken = [one for one in book.consent if one.of == party.name and not one.given and set(one.uses) & set(lacking)]
        why = f"taken back on {taken[-1].on}" if taken else "none is recorded"
        unless = "; if they did not play, answer that question first" if party.possible else ""
        yield f"{party.name}: no consent for {listed(lacking)} ({why}){unless}"
    for consent in dict.fromkeys(stands[use] for use in uses if use in stands):
        trouble = evidence_trouble(consent, folder)
        if trouble:
            yield f"{party.name}: {trouble}"


def evidence_trouble(consent: Consent, folder: Path) -> str:
    """Say what is wrong with the file that shows a consent; blank where nothing is."""
    if not consent.evidence:
        return ""
    path = folder / consent.evidence
    try:
        with path.open("rb") as file:
            found = file_digest(file, "sha256").hexdigest()
    except OSError:
        return f"the evidence {consent.evidence} is not there"
    return "" if found == consent.sha256 else f"the evidence {consent.evidence} has changed since it was recorded"


def keep_evidence(folder: Path, file: Path) -> tuple[str, str]:
    """Copy a signed paper into the show's folder, never over another.

    Returns
    -------
    Its place from the show's folder, and its SHA-256.

    Raises
    ------
    Fault
        It cannot be read.
    NotDone
        The copy cannot be written.
    """
    try:
        content = file.read_bytes()
    except OSError as trouble:
        raise Fault(f"cannot be read ({trouble.strerror})", str(file), "check the file") from None
    digest = sha256(content).hexdigest()
    home = folder / EVIDENCE
    home.mkdir(exist_ok=True)
    there = [one.name for one in home.iterdir()]
    for name in there:
        if (home / name).is_file() and (home / name).read_bytes() == content:
            return str(PurePosixPath(EVIDENCE, name)), digest
    name = told_apart([*there, safe_name(file.stem) + file.suffix.casefold()])[-1]
    write_whole(home / name, content)
    return str(PurePosixPath(EVIDENCE, name)), digest

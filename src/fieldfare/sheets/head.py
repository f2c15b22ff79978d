"""What every sheet says about itself: show, venue, date, revision, time of print, paper."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal, Protocol

from fieldfare.sheets.language import Language, day_in, said, worded
from fieldfare.sheets.wording import Units, day, stamp
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.text import listed

Paper = Literal["a4", "letter"]

TYPST_PAPER = {"a4": "a4", "letter": "us-letter"}
SIZE_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1 size A, 8.5 by 11 inches


@dataclass(frozen=True, slots=True)
class Head:
    """The head and foot of one sheet."""

    paper: str
    sheet: str
    title: str
    subtitle: str
    revision: str
    printed: str
    foot: str


@dataclass(frozen=True, slots=True)
class Setting:
    """What all sheets of one printing share."""

    plan: Plan
    show: Show
    venue: Venue
    paper: Paper
    revision: str
    printed: dt.datetime
    units: Units = "m"
    language: Language = "en"

    def head(self, sheet: str) -> Head:
        """Return the head of the sheet of that name."""
        acts = listed(act.name for act in self.show.act)
        where = f"{acts} at {self.venue.name}" if acts else self.venue.name
        printed = stamp(self.printed, self.venue.zone)
        return Head(
            paper=TYPST_PAPER[self.paper],
            sheet=sheet,
            title=self.show.title,
            subtitle=f"{where}, {day(self.show.date)}",
            revision=self.revision,
            printed=printed,
            foot=f"Revision {self.revision}, printed {printed}, from documents {self.plan.digest[:8]}",
        )


@dataclass(frozen=True, slots=True)
class Printing:
    """What all sheets of recordings share: they may be those of a show, or of nobody knows what."""

    paper: Paper
    printed: dt.datetime  # with a zone it is shown as the venue's clock, without one it is taken as that
    show: Show | None = None
    venue: Venue | None = None
    plan: Plan | None = None
    revision: str = ""
    language: Language = "en"

    def head(self, sheet: str, what: str, title: str = "") -> Head:
        """Return the head of a sheet: its subtitle in its language, the rest to be looked up as all words are.

        Parameters
        ----------
        sheet
            What sheet it is.
        what
            What the sheet is about, in its language, after venue and date.
        title
            What the recordings call themselves, where there is no show.
        """
        when = stamp(self.printed, self.venue.zone if self.venue else "UTC")
        where = [self.venue.name] if self.venue else []
        date = [day_in(self.show.date, self.language)] if self.show else []
        return Head(
            paper=TYPST_PAPER[self.paper],
            sheet=sheet,
            title=self.show.title if self.show else title or worded("Recordings", self.language),
            subtitle=", ".join([*where, *date, what]),
            revision=self.revision,
            printed=when,
            foot=f"Revision {self.revision}, printed {when}" if self.revision else f"Printed {when}",
        )


class Headed(Protocol):
    """A sheet of recordings."""

    @property
    def head(self) -> Head:
        """Its head."""
        ...


def counted(count: int, what: str, language: Language = "en") -> str:
    """Write so many of a thing.

    >>> counted(1, "take"), counted(3, "take"), counted(2, "take", "de")
    ('1 take', '3 takes', '2 Takes')
    """
    return said(f"{count} {what}{'' if count == 1 else 's'}", language)

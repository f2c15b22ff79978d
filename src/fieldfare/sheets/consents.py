"""Forms of consent: a page for each performer and the venue, to be read, ticked and signed. No advice on law."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from fieldfare.sheets.head import TYPST_PAPER, Paper
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.wording import day
from fieldfare.show.consent import USES, Side
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.text import listed


@dataclass(frozen=True, slots=True)
class ConsentForm:
    """One form."""

    name: str
    part: str
    states: tuple[str, ...]  # the user's own text, or plain sentences of what is done


@dataclass(frozen=True, slots=True)
class ConsentForms:
    """All forms of a show."""

    paper: str
    title: str
    about: tuple[str, ...]
    recordist: str
    uses: tuple[str, ...]
    forms: tuple[ConsentForm, ...]


def consent_pdf(
    show: Show,
    venue: Venue,
    asked: Sequence[tuple[str, Side, str]],
    own_text: str,
    paper: Paper,
    printed: dt.datetime,
) -> bytes:
    """Set the forms as PDF.

    Parameters
    ----------
    show, venue
        What is recorded, and where.
    asked
        Name, part and what is played, for each form.
    own_text
        The user's own words instead of ours; blank: ours.
    paper, printed
        Paper size and time of print.

    Raises
    ------
    NotDone
        They could not be set.
    """
    return typeset("consent", consent_forms(show, venue, asked, own_text, paper), printed)


def consent_forms(
    show: Show, venue: Venue, asked: Sequence[tuple[str, Side, str]], own_text: str, paper: Paper
) -> ConsentForms:
    """Make the data of the forms."""
    acts = listed(act.name for act in show.act)
    about = tuple(part for part in (acts, venue.name, day(show.date)) if part)
    own = tuple(part.strip() for part in own_text.split("\n\n") if part.strip())
    return ConsentForms(
        paper=TYPST_PAPER[paper],
        title=show.title,
        about=about,
        recordist=show.recordist,
        uses=tuple(text[:1].upper() + text[1:] for text in USES.values()),
        forms=tuple(
            ConsentForm(name, _part(side, does), own or _plain(side, show.recordist)) for name, side, does in asked
        ),
    )


def _part(side: Side, does: str) -> str:
    return {"performer": f"Performer: {does}" if does else "Performer", "venue": "Venue", "other": "Other"}[side]


def _plain(side: Side, recordist: str) -> tuple[str, ...]:
    who = recordist or "the recordist"
    where = "in our rooms" if side == "venue" else "at this show"
    return (
        f"I have been told that {who} makes a sound recording {where}, each instrument and voice by itself.",
        "I agree to those uses below that I have ticked, and to no other. What I have not ticked may be asked again.",
    )

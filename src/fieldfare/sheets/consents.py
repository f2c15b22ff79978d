"""Forms of consent: a page for each performer and the venue, to be read, ticked and signed. No advice on law."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from fieldfare.sheets.head import TYPST_PAPER, Paper
from fieldfare.sheets.language import Language, day_in, listed_in, worded
from fieldfare.sheets.typeset import typeset
from fieldfare.show.consent import USES, Side
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue

Asked = tuple[str, Side, tuple[str, ...]]  # who is asked, in what part, what they play
_PARTS: dict[Side, str] = {"performer": "Performer", "venue": "Venue", "other": "Other"}


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
    asked: Sequence[Asked],
    own_text: str,
    paper: Paper,
    printed: dt.datetime,
    language: Language = "en",
) -> bytes:
    """Set the forms as PDF.

    Parameters
    ----------
    show, venue
        What is recorded, and where.
    asked
        A form for each.
    own_text
        The user's own words instead of ours; blank: ours.
    paper, printed, language
        Paper size, time of print, language of all words that are ours.

    Raises
    ------
    NotDone
        They could not be set.
    """
    forms = consent_forms(show, venue, asked, own_text, paper, language)
    return typeset("consent", forms, printed, language, is_said=True)


def consent_forms(
    show: Show, venue: Venue, asked: Sequence[Asked], own_text: str, paper: Paper, language: Language = "en"
) -> ConsentForms:
    """Make the data of the forms."""
    acts = listed_in((act.name for act in show.act), language)
    about = tuple(part for part in (acts, venue.name, day_in(show.date, language)) if part)
    own = tuple(part.strip() for part in own_text.split("\n\n") if part.strip())
    uses = [worded(text, language) for text in USES.values()]
    return ConsentForms(
        paper=TYPST_PAPER[paper],
        title=show.title,
        about=about,
        recordist=show.recordist,
        uses=tuple(text[:1].upper() + text[1:] for text in uses),
        forms=tuple(
            ConsentForm(name, _part(side, plays, language), own or _plain(side, show.recordist, language))
            for name, side, plays in asked
        ),
    )


def _part(side: Side, plays: tuple[str, ...], language: Language) -> str:
    part = worded(_PARTS[side], language)
    return f"{part}: {listed_in(plays, language)}" if plays else part


def _plain(side: Side, recordist: str, language: Language) -> tuple[str, ...]:
    who = recordist or worded("the recordist", language)
    made = (
        "I have been told that {x} makes a sound recording in our rooms, each instrument and voice by itself."
        if side == "venue"
        else "I have been told that {x} makes a sound recording at this show, each instrument and voice by itself."
    )
    agree = (
        "I agree to those uses below that I have ticked, and to no other. What I have not ticked may be asked again."
    )
    return worded(made, language, x=who), worded(agree, language)

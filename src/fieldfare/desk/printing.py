"""How papers are printed for a device, and in which language the program speaks of a show to it: kept by the device."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, TypeVar, get_args

from fastapi import Depends, Query, Request
from fastapi.responses import Response

from fieldfare.sheets.head import Paper
from fieldfare.sheets.language import LANGUAGES, Language
from fieldfare.sheets.wording import Units

PAPERS: tuple[Paper, ...] = get_args(Paper)
UNITS: tuple[Units, ...] = get_args(Units)
YEAR_S = 365 * 24 * 3600
Chosen = TypeVar("Chosen")


@dataclass(frozen=True, slots=True)
class Printing:
    """How a paper is printed."""

    paper: Paper = "a4"
    units: Units = "m"
    language: Language = "en"

    @property
    def query(self) -> str:
        """The same, for an address."""
        return f"paper={self.paper}&units={self.units}&language={self.language}"


def language_of(request: Request) -> Language:
    """Return the language that a device has chosen."""
    return _kept(request, "language", LANGUAGES)


def keep(answer: Response, **chosen: str) -> None:
    """Let a device keep what it has chosen, by name: its light, its language, its paper, its lengths."""
    for name, value in chosen.items():
        answer.set_cookie(name, value, max_age=YEAR_S, samesite="strict", httponly=True)


def _printing(
    request: Request,
    paper: Annotated[Paper | None, Query()] = None,
    units: Annotated[Units | None, Query()] = None,
    language: Annotated[Language | None, Query()] = None,
) -> Printing:
    kept_paper: Paper = _kept(request, "paper", PAPERS)
    kept_units: Units = _kept(request, "units", UNITS)
    return Printing(paper or kept_paper, units or kept_units, language or language_of(request))


def _kept(request: Request, name: str, known: tuple[Chosen, ...]) -> Chosen:
    """Return what a device keeps under a name; the first of what is known where it keeps nothing of that."""
    return next((one for one in known if one == request.cookies.get(name)), known[0])


Printed = Annotated[Printing, Depends(_printing)]  # as an address asks, and where it does not, as the device has chosen

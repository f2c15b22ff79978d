"""What all requests share: the open shows, the planner, the sessions and the long work."""

from __future__ import annotations

from pathlib import Path
from threading import Lock
from typing import Annotated

from fastapi import Depends, Request
from fastapi import Path as PathPart

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Jobs
from fieldfare.desk.library import find_show
from fieldfare.desk.planner import Planner
from fieldfare.desk.sessions import Session, Sessions
from fieldfare.desk.settings import Settings
from fieldfare.desk.uploads import Uploads
from fieldfare.units.faults import Fault


class Refused(Fault):
    """Somebody asked for what their session may not do."""


class Missing(Fault):
    """There is nothing at that address."""


class Desk:
    """One desk, over one folder of shows."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.sessions = Sessions(settings.root)
        self.planner = Planner(explain=settings.explain)
        self.jobs = Jobs()
        self.uploads = Uploads()
        self._books: dict[Path, Book] = {}
        self._lock = Lock()

    def book(self, key: str) -> Book:
        """Return an open show by its name in addresses.

        Raises
        ------
        Missing
            There is no such show.
        """
        try:
            folder = find_show(self.settings.root, key)
        except Fault as fault:
            raise Missing(fault.what, fault.where, fault.remedy) from None
        with self._lock:
            if folder not in self._books:
                self._books[folder] = Book(folder, self.planner, self.settings.store_url)
            return self._books[folder]

    def close(self) -> None:
        """Let go of everything."""
        self.jobs.close()
        self.planner.close()
        for book in self._books.values():
            book.close()


def the_desk(request: Request) -> Desk:
    """Return the desk that answers a request."""
    desk: Desk = request.app.state.desk
    return desk


def the_session(request: Request) -> Session:
    """Return whose request it is; the guard has let nobody else through.

    Raises
    ------
    Refused
        There is no session.
    """
    session: Session | None = request.state.session
    if session is None:
        raise Refused("this device is not paired", "the desk", "pair it with a code from the laptop")
    return session


async def from_our_form(request: Request, session: Annotated[Session, Depends(the_session)]) -> Session:
    """Refuse what does not carry the token of the session's own forms.

    Raises
    ------
    Refused
        The token is missing or another's.
    """
    import hmac

    token = request.headers.get("x-csrf-token", "")
    if not token and "form" in request.headers.get("content-type", ""):
        token = str((await request.form()).get("csrf", ""))
    if not hmac.compare_digest(token.encode(), session.csrf.encode()):
        raise Refused("this form is of another session", "the desk", "load the page again and send it once more")
    return session


def may_edit(session: Annotated[Session, Depends(from_our_form)]) -> Session:
    """Refuse whoever may only tick.

    Raises
    ------
    Refused
        The session may not edit.
    """
    if session.role != "edit":
        raise Refused("this phone may tick and mark, not change the plan", "the desk", "do it on the laptop")
    return session


def on_the_laptop(session: Annotated[Session, Depends(may_edit)]) -> Session:
    """Refuse whoever does not sit at the laptop itself.

    Raises
    ------
    Refused
        The request came over the network.
    """
    if not session.local:
        raise Refused("this reaches beyond the show's folder", "the desk", "do it on the laptop itself")
    return session


TheDesk = Annotated[Desk, Depends(the_desk)]
TheSession = Annotated[Session, Depends(the_session)]
Editing = Annotated[Session, Depends(may_edit)]
Ticking = Annotated[Session, Depends(from_our_form)]
Local = Annotated[Session, Depends(on_the_laptop)]
Key = Annotated[str, PathPart(max_length=200)]

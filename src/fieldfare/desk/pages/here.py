"""What every page of a show needs at hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import Depends, Request
from fastapi.responses import RedirectResponse

from fieldfare.desk.book import Book, Open
from fieldfare.desk.desk import Desk, Key, TheDesk, TheSession
from fieldfare.desk.frame import Frame, Light, plain_frame, show_frame
from fieldfare.desk.printing import language_of
from fieldfare.desk.sessions import Session


@dataclass(frozen=True, slots=True)
class Here:
    """A request for one of a show's pages."""

    request: Request
    desk: Desk
    session: Session
    key: str

    @property
    def book(self) -> Book:
        """The show."""
        return self.desk.book(self.key)

    def frame(self, name: str, title: str, now: Open) -> Frame:
        """Return the frame of a page."""
        shared = self.desk.settings.lan
        light, language = light_of(self.request), language_of(self.request)
        return show_frame(name, title, now, light, language, self.session, address(self.request), self.key, shared)

    def to(self, page: str) -> RedirectResponse:
        """Lead on to a page of the show."""
        return RedirectResponse(f"/shows/{quote(self.key)}/{page}", 303)


def light_of(request: Request) -> Light:
    """Return the light that a device has chosen."""
    return "stage" if request.cookies.get("light") == "stage" else "paper"


def address(request: Request) -> str:
    """Return the address of a page, to come back to."""
    return request.url.path + (f"?{request.url.query}" if request.url.query else "")


def frame_of(request: Request, title: str, subtitle: str = "") -> Frame:
    """Return the frame of a page that belongs to no show."""
    desk: Desk = request.app.state.desk
    session: Session | None = request.state.session
    light, language = light_of(request), language_of(request)
    return plain_frame(title, subtitle, light, language, session, address(request), desk.settings.lan)


def _here(request: Request, desk: TheDesk, session: TheSession, key: Key) -> Here:
    return Here(request, desk, session, key)


TheShow = Annotated[Here, Depends(_here)]

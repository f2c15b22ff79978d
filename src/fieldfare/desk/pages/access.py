"""Who may come in: the light of a device, pairing a phone, and ending its session."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import Annotated

import segno
from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from fieldfare.desk.desk import Editing, Local, TheDesk, TheSession
from fieldfare.desk.frame import Frame
from fieldfare.desk.guard import cookie_header
from fieldfare.desk.pages.here import frame_of
from fieldfare.desk.printing import keep
from fieldfare.desk.render import html, svg
from fieldfare.desk.sessions import Role, Session
from fieldfare.sheets.colours import SHADES
from fieldfare.sheets.language import Language

router = APIRouter()


@dataclass(frozen=True, slots=True)
class SharePage:
    """Sharing the desk with other devices."""

    frame: Frame
    lan: bool
    local: bool
    addresses: tuple[str, ...]
    code: str
    role: str
    qr: Markup
    paired: tuple[Session, ...]


@dataclass(frozen=True, slots=True)
class PairPage:
    """Pairing a device."""

    frame: Frame
    code: str
    to: str


@router.post("/light")
def light(
    request: Request,
    light: Annotated[str, Form(max_length=5)] = "paper",
    to: Annotated[str, Form(max_length=2000)] = "/",
) -> RedirectResponse:
    """Choose the light of this device; it needs no session, and changes nothing but a cookie."""
    answer = RedirectResponse(own_address(to), 303)
    chosen = "stage" if light == "stage" else "paper"
    keep(answer, light=chosen)
    return answer


@router.post("/language")
def language(
    language: Annotated[Language, Form()] = "en",
    to: Annotated[str, Form(max_length=2000)] = "/",
) -> RedirectResponse:
    """Choose in which language this device is told what the plan and the takes say; a cookie too."""
    answer = RedirectResponse(own_address(to), 303)
    keep(answer, language=language)
    return answer


def own_address(to: str) -> str:
    """Return an address only where it leads to this desk."""
    plain = to.replace("\\", "/")
    return to if plain.startswith("/") and not plain.startswith("//") and to.isprintable() else "/"


@router.get("/shades.css")
def shades(request: Request) -> Response:
    """Give the shades of the cables as classes; white and unnamed ones are told by their outline and hatching."""
    rules = [f".shade-{name}{{--shade:{shade}}}" for name, shade in SHADES.items()]
    return Response("\n".join(rules), media_type="text/css", headers={"Cache-Control": "max-age=3600"})


@router.get("/share")
def share(request: Request, desk: TheDesk, session: TheSession) -> HTMLResponse:
    """Show how to share the desk, and with whom it is shared."""
    return html("share.html", _share(request, desk.settings.addresses, "", "", session))


@router.post("/share")
def make_code(request: Request, desk: TheDesk, local: Local, role: Annotated[Role, Form()] = "tick") -> HTMLResponse:
    """Make a one-time code, as letters and as a QR code."""
    code = desk.sessions.make_code(role)
    return html("share.html", _share(request, desk.settings.addresses, code.text, code.role, local))


def _share(request: Request, addresses: tuple[str, ...], code: str, role: str, session: Session) -> SharePage:
    settings = request.app.state.desk.settings
    own = tuple(f"http://{one}:{settings.port}" for one in addresses)
    qr = ""
    if code and own:
        out = BytesIO()
        segno.make(f"{own[0]}/pair?code={code}").save(
            out, kind="svg", scale=6, border=3, xmldecl=False, svgclass="qr", light="#fff"
        )
        qr = out.getvalue().decode()
    return SharePage(
        frame=frame_of(request, "Share with a phone"),
        lan=settings.lan,
        local=session.local,
        addresses=own,
        code=f"{code[:4]} {code[4:]}" if code else "",
        role=role,
        qr=svg(qr),
        paired=request.app.state.desk.sessions.paired(),
    )


@router.post("/share/end")
def end(desk: TheDesk, editor: Editing, session: Annotated[str, Form(max_length=64)] = "") -> RedirectResponse:
    """End the session of a device."""
    desk.sessions.end(session)
    return RedirectResponse("/share", 303)


@router.get("/pair")
def pair(
    request: Request, code: Annotated[str, Query(max_length=40)] = "", to: Annotated[str, Query(max_length=2000)] = "/"
) -> HTMLResponse:
    """Ask for the code; nothing is used up by looking."""
    return html("pair.html", PairPage(frame_of(request, "Pair this device"), code, own_address(to)))


@router.post("/pair")
def use_code(
    desk: TheDesk,
    code: Annotated[str, Form(max_length=40)] = "",
    name: Annotated[str, Form(max_length=60)] = "",
    to: Annotated[str, Form(max_length=2000)] = "/",
) -> RedirectResponse:
    """Turn a code into a session."""
    cookie, _ = desk.sessions.use_code(code, name)
    answer = RedirectResponse(own_address(to), 303)
    answer.headers.append("set-cookie", cookie_header(cookie))
    return answer

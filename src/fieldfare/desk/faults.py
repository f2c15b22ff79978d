"""How a fault reaches a person at a screen: what is wrong, where, what to do; and what was typed stays."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from fieldfare.desk.desk import Missing, Refused
from fieldfare.desk.faultlines import FaultLine, lines_of
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import frame_of
from fieldfare.desk.render import html
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import listed


@dataclass(frozen=True, slots=True)
class FaultPage:
    """A page that says what is wrong."""

    frame: Frame
    head: str
    lines: tuple[FaultLine, ...]
    back: str


@dataclass(frozen=True, slots=True)
class FaultPart:
    """What is wrong, to stand above the form that was sent."""

    head: str
    lines: tuple[FaultLine, ...]


def told(request: Request, fault: Exception) -> Response:
    """Answer a request that met a fault."""
    assert isinstance(fault, Fault)
    return _answer(request, tuple(lines_of(fault)), _status(fault))


def not_understood(request: Request, wrong: Exception) -> Response:
    """Answer a request whose fields are not what the page asks for."""
    assert isinstance(wrong, RequestValidationError)
    lines = tuple(
        FaultLine(str(error["loc"][-1]) if error["loc"] else "", str(error["msg"]), "put it right and send it again")
        for error in wrong.errors()
    )
    return _answer(request, lines, 422)


def refused(request: Request, wrong: Exception) -> Response:
    """Answer a request for what is not there, or not done so."""
    assert isinstance(wrong, HTTPException)
    line = FaultLine(
        "", "There is nothing here" if wrong.status_code == 404 else wrong.detail, "the list has all shows"
    )
    return _answer(request, (line,), wrong.status_code)


def _status(fault: Fault) -> int:
    if isinstance(fault, Missing):
        return 404
    if isinstance(fault, Refused):
        return 403
    return 409 if isinstance(fault, NotDone) else 400


def _answer(request: Request, lines: tuple[FaultLine, ...], status: int) -> Response:
    head = "This could not be done" if len(lines) == 1 else f"{len(lines)} faults"
    if "json" in request.headers.get("accept", "") and "html" not in request.headers.get("accept", ""):
        fault = [{"where": one.where, "what": one.what, "remedy": one.remedy} for one in lines]
        return JSONResponse({"fault": fault}, status)
    if request.headers.get("hx-request") and request.method != "GET":
        return html(
            "fault_lines.html",
            FaultPart(head, lines),
            status,
            {"HX-Retarget": "#fault", "HX-Reswap": "innerHTML show:window:top"},
        )
    back = request.headers.get("referer", "/")
    return html("fault.html", FaultPage(frame_of(request, head), listed([head]), lines, _own(back)), status)


def _own(address: str) -> str:
    """Keep only the path of an address: a page leads back to this desk alone."""
    return "/" + address.partition("://")[2].partition("/")[2].partition("#")[0] if "://" in address else "/"


def unforeseen(request: Request, broken: Exception) -> HTMLResponse:
    """Answer where the program itself went wrong."""
    line = FaultLine("fieldfare", f"The program itself went wrong ({type(broken).__name__})", "load the page again")
    return html(
        "fault.html",
        FaultPage(frame_of(request, "This could not be done"), "This could not be done", (line,), "/"),
        500,
    )

"""What stands before every page: who asks, from where, how much they send, and what their browser may do with it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fieldfare.desk.sessions import Session, Sessions
from fieldfare.desk.settings import LOOPBACK, SESSION_H, UPLOAD_BYTES, Settings

COOKIE = "fieldfare"
OPEN_TO_ALL = ("/pair", "/light", "/language", "/shades.css", "/static/", "/fonts/")
SECURITY = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; media-src 'self'; worker-src 'self'; manifest-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class Guard:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp, settings: Settings, sessions: Sessions) -> None:
        self.app, self.settings, self.sessions = app, settings, sessions

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it at once."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        connection = HTTPConnection(scope)
        session, cookie = self._session(connection)
        refusal = self._refusal(connection, session)
        scope.setdefault("state", {})["session"] = session
        sending = _with_headers(send, cookie)
        if refusal is not None:
            await refusal(scope, receive, sending)
            return
        taken = _Counted(receive)
        answered = False

        async def told(message: Message) -> None:
            nonlocal answered
            if taken.too_large:  # what the application makes of half a form is not its fault
                if not answered:
                    answered = True
                    await _too_large()(scope, receive, sending)
                return
            await sending(message)

        await self.app(scope, taken, told)

    def _session(self, connection: HTTPConnection) -> tuple[Session | None, str]:
        """Find the session; whoever sits at the laptop itself gets one."""
        kept = connection.cookies.get(COOKIE, "")
        found = self.sessions.find(kept) if kept else None
        if found is None and _is_local(connection) and not connection.url.path.startswith("/static/"):
            cookie, found = self.sessions.begin("edit", "this laptop", local=True)
            return found, cookie
        return found, ""

    def _refusal(self, connection: HTTPConnection, session: Session | None) -> Response | None:
        headers, method = connection.headers, connection.scope["method"]
        host = connection.url.hostname or ""
        if host not in self.settings.hosts:
            return PlainTextResponse("This desk does not answer to that name.", 421)
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > UPLOAD_BYTES:
            return _too_large()
        if method not in ("GET", "HEAD") and not _same_origin(headers):
            return PlainTextResponse("This did not come from a page of this desk.", 403)
        path = connection.url.path
        if session is None and not path.startswith(OPEN_TO_ALL):
            if method == "GET" and "text/html" in headers.get("accept", ""):
                return RedirectResponse(f"/pair?to={quote(path)}", 303)
            return PlainTextResponse("This device is not paired with the desk.", 401)
        return None


def _is_local(connection: HTTPConnection) -> bool:
    client = connection.client
    return client is not None and client.host in LOOPBACK


def _same_origin(headers: Headers) -> bool:
    origin = headers.get("origin")
    return origin is None or origin.partition("://")[2] == headers.get("host", "")


def _too_large() -> Response:
    return PlainTextResponse(f"That is more than {UPLOAD_BYTES // 1_000_000} MB; send a smaller file.", 413)


class _Counted:
    """Hands on what is sent, up to the limit."""

    def __init__(self, receive: Receive) -> None:
        self._receive, self._seen = receive, 0
        self.too_large = False

    async def __call__(self) -> Message:
        message = await self._receive()
        self._seen += len(message.get("body", b""))
        if self._seen > UPLOAD_BYTES:
            self.too_large = True
            return {"type": "http.disconnect"}
        return message


def _with_headers(send: Send, cookie: str) -> Callable[[Message], Awaitable[Any]]:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in SECURITY.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
            if cookie:
                headers.append("set-cookie", cookie_header(cookie))
        await send(message)

    return sending


def cookie_header(cookie: str) -> str:
    """Return the header that keeps a session's cookie in a browser."""
    kept: SimpleCookie = SimpleCookie()
    kept[COOKIE] = cookie
    kept[COOKIE]["path"] = "/"
    kept[COOKIE]["httponly"] = True
    kept[COOKIE]["samesite"] = "Strict"
    kept[COOKIE]["max-age"] = int(SESSION_H * 3600)
    return kept[COOKIE].OutputString()

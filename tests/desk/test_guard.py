"""Who may come in, and what they may do: each refusal tried."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from fieldfare.desk.app import make_app
from fieldfare.desk.guard import SECURITY
from fieldfare.desk.pages.access import own_address
from fieldfare.desk.sessions import WRONG_CODES, Sessions
from fieldfare.desk.settings import UPLOAD_BYTES, Settings
from fieldfare.units.faults import Fault

BASE = "/shows/midwinter-dance"


def _token(page: str) -> str:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', page)
    assert found is not None
    return found[1]


def _send(client: httpx.Client, path: str, **fields: str) -> httpx.Response:
    csrf = _token(client.get("/").text)
    return client.post(path, data={"csrf": csrf, **fields})


def test_every_answer_says_what_a_browser_may_do_with_it(reader: httpx.Client) -> None:
    for path in ("/", f"{BASE}/inputs", "/static/desk.css", "/nothing"):
        headers = reader.get(path).headers
        assert {name: headers[name] for name in SECURITY} == SECURITY
    assert "unsafe" not in SECURITY["Content-Security-Policy"]


def test_another_host_name_is_not_answered(reader: httpx.Client) -> None:
    assert reader.get("/", headers={"host": "elsewhere.example"}).status_code == 421


def test_a_form_without_the_token_or_from_elsewhere_changes_nothing(client: httpx.Client) -> None:
    before = client.get(f"{BASE}/history").text
    pin = {"use": "M-02"}
    assert client.post(f"{BASE}/inputs/kick/pin", data=pin).status_code == 403
    assert client.post(f"{BASE}/inputs/kick/pin", data={**pin, "csrf": "0" * 32}).status_code == 403
    right = {**pin, "csrf": _token(client.get("/").text)}
    assert client.post(f"{BASE}/inputs/kick/pin", data=right, headers={"origin": "http://a.example"}).status_code == 403
    assert client.get(f"{BASE}/history").text == before


@pytest.mark.parametrize("key", ["..", "%2e%2e", "..%2f..%2fetc", "nothing", "midwinter-dance%2f..", "a" * 250])
def test_no_address_leads_out_of_the_folder(reader: httpx.Client, key: str) -> None:
    assert reader.get(f"/shows/{key}/inputs").status_code in (404, 422)


def test_more_than_the_limit_is_not_taken_in(client: httpx.Client) -> None:
    csrf = _token(client.get("/").text)
    big = {"file": ("kit.csv", b"x" * (UPLOAD_BYTES + 1))}
    assert client.post(f"{BASE}/kit/preview", data={"csrf": csrf}, files=big).status_code == 413

    def unmeasured() -> Iterator[bytes]:
        yield from [b"x" * 100_000] * (UPLOAD_BYTES // 100_000 + 1)

    kind = {"content-type": "application/json", "x-csrf-token": csrf}
    assert client.post(f"{BASE}/events", content=unmeasured(), headers=kind).status_code == 413


@pytest.mark.parametrize(
    ("to", "own"),
    [("/shows/a?b=c", "/shows/a?b=c"), ("//a.example", "/"), ("/\\a.example", "/"), ("https://a.example", "/")],
)
def test_no_page_leads_to_another_site(to: str, own: str) -> None:
    assert own_address(to) == own


class _Phone:
    """A device on the local network, without a network: its requests reach the application from its address."""

    def __init__(self, app: ASGIApp) -> None:
        self.transport = httpx.ASGITransport(app, client=("192.0.2.7", 50_000))
        self.cookies = httpx.Cookies()

    async def _ask(self, method: str, path: str, **more: object) -> httpx.Response:
        async with httpx.AsyncClient(
            transport=self.transport, base_url="http://192.0.2.1", cookies=self.cookies, headers={"accept": "text/html"}
        ) as client:
            answer = await client.request(method, path, **more)  # type: ignore[arg-type]
            self.cookies.update(answer.cookies)
            return answer

    def ask(self, method: str, path: str, **more: object) -> httpx.Response:
        """Send a request."""
        import asyncio

        return asyncio.run(self._ask(method, path, **more))


@pytest.fixture
def phone(folder: Path) -> _Phone:
    """A phone that is not paired, at a desk that is shared."""
    return _Phone(make_app(Settings(root=folder, lan=True, addresses=("192.0.2.1",), explain=False)))


def _pair(phone: _Phone, role: str) -> None:
    sessions: Sessions = phone.transport.app.state.desk.sessions  # type: ignore[attr-defined]
    code = sessions.make_code("edit" if role == "edit" else "tick")
    answer = phone.ask("POST", "/pair", data={"code": f"{code.text[:4]} {code.text[4:]}".lower(), "name": "stage"})
    assert answer.status_code == 303


def test_a_phone_that_is_not_paired_sees_nothing(phone: _Phone) -> None:
    answer = phone.ask("GET", f"{BASE}/inputs")
    assert (answer.status_code, answer.headers["location"]) == (303, f"/pair?to={BASE}/inputs")
    assert phone.ask("GET", f"{BASE}/events", headers={"accept": "application/json"}).status_code == 401
    assert phone.ask("POST", f"{BASE}/undo").status_code == 401
    assert phone.ask("GET", "/pair").status_code == 200


def test_a_phone_that_may_tick_ticks_and_changes_no_plan(phone: _Phone) -> None:
    _pair(phone, "tick")
    csrf = _token(phone.ask("GET", f"{BASE}/check").text)
    ticked = phone.ask("POST", f"{BASE}/events/one", data={"csrf": csrf, "kind": "checked", "about": "kick"})
    assert ticked.status_code == 303
    pinned = phone.ask("POST", f"{BASE}/inputs/kick/pin", data={"csrf": csrf, "use": "M-02"})
    assert pinned.status_code == 403
    assert "tick and mark, not change the plan" in pinned.text


def test_a_phone_that_may_edit_names_no_folder_of_the_laptop(phone: _Phone) -> None:
    _pair(phone, "edit")
    csrf = _token(phone.ask("GET", f"{BASE}/offload").text)
    fields = {"csrf": csrf, "card": "/", "first": "/tmp", "second": "/var"}
    assert phone.ask("POST", f"{BASE}/offload", data=fields).status_code == 403
    assert phone.ask("POST", "/share", data={"csrf": csrf, "role": "edit"}).status_code == 403


def test_a_code_serves_once_and_ends_by_time_and_by_guessing(tmp_path: Path) -> None:
    now = [1000.0]
    sessions = Sessions(tmp_path, clock=lambda: now[0])
    code = sessions.make_code("tick")
    sessions.use_code(code.text, "phone")
    with pytest.raises(Fault, match="used or over"):
        sessions.use_code(code.text, "phone")
    late = sessions.make_code("tick")
    now[0] += 601
    with pytest.raises(Fault, match="used or over"):
        sessions.use_code(late.text, "phone")
    guessed = sessions.make_code("tick")
    for _ in range(WRONG_CODES):
        with pytest.raises(Fault, match="wrong"):
            sessions.use_code("AAAAAAAA", "phone")
    with pytest.raises(Fault, match="wrong"):
        sessions.use_code(guessed.text, "phone")


def test_a_session_survives_a_restart_and_ends(tmp_path: Path) -> None:
    now = [1000.0]
    cookie, session = Sessions(tmp_path, clock=lambda: now[0]).begin("tick", "phone")
    again = Sessions(tmp_path, clock=lambda: now[0])
    assert again.find(cookie) == session
    assert all(cookie not in file.read_text("utf-8") for file in tmp_path.iterdir())
    now[0] += 37 * 3600
    assert again.find(cookie) is None
    now[0] -= 37 * 3600
    again.end(session.key)
    assert Sessions(tmp_path, clock=lambda: now[0]).find(cookie) is None

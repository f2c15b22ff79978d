"""The page of a unit: what the kit says of it, and what happened with it at every show that has it."""

from __future__ import annotations

import re
from pathlib import Path
from shutil import copytree

import httpx
import pytest

SHOWS = ("midwinter-dance", "spring-dance")
UNIT = "/shows/midwinter-dance/kit/units"


@pytest.fixture
def two(folder: Path) -> Path:
    """Two shows with one kit, in which a mic has a value, a serial number and a fault."""
    show = folder / SHOWS[0]
    kit = show / "kit.toml"
    said = 'tags = ["M-01"]\nvalue_each = 123.5\nserials = { M-01 = "0815-A" }\nnote = "tested in May: 0.4 dB down"'
    kit.write_text(kit.read_text("utf-8").replace('tags = ["M-01"]', said, 1), "utf-8")
    copytree(show, folder / SHOWS[1])
    file = folder / SHOWS[1] / "show.toml"
    text = file.read_text("utf-8").replace('title = "Midwinter Dance"', 'title = "Spring Dance"')
    file.write_text(text.replace("date = 2026-12-04", "date = 2027-03-05"), "utf-8")
    return folder


def _tell(client: httpx.Client, show: str, number: int, **said: str) -> None:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    event = {"id": f"{show} {number}", "device": "phone", **said}
    sent = client.post(f"/shows/{show}/events", json={"event": [event]}, headers={"x-csrf-token": found[1]})
    assert sent.json()["added"] == [event["id"]]


def _rows(page: str) -> list[str]:
    table = page.partition("What happened with it</caption>")[2].partition("</table>")[0]
    return [re.sub(r"<[^>]+>|\s+", " ", row) for row in table.split("<tr>")[2:]]


def test_a_unit_tells_its_value_its_number_and_what_was_noted_of_it(client: httpx.Client, two: Path) -> None:
    page = client.get(f"{UNIT}/M-01").text
    for said in ("123.50", "0815-A", "0.45 kg", "tested in May: 0.4 dB down", "Mic case"):
        assert said in page, said
    assert "Faulty:" not in page


def test_a_unit_tells_what_it_did_at_every_show_the_latest_first(client: httpx.Client, two: Path) -> None:
    for show in SHOWS:
        client.get(f"/shows/{show}/inputs")  # makes its plan
    _tell(client, SHOWS[0], 1, kind="packed", about="M-01", at="2026-12-04T14:00:00Z")
    _tell(client, SHOWS[0], 2, kind="back", about="M-01", at="2026-12-04T23:30:00Z")
    _tell(client, SHOWS[1], 3, kind="faulty", about="M-01", text="rattles when moved", at="2027-03-05T18:00:00Z")
    _tell(client, SHOWS[1], 4, kind="packed", about="M-02", at="2027-03-05T14:00:00Z")
    spring, winter = _rows(client.get(f"{UNIT}/M-01").text)
    assert "Spring Dance" in spring
    assert "rattles when moved" in spring
    assert "counted out" not in spring  # that was another unit
    assert "Midwinter Dance" in winter
    assert "Kick" in winter
    assert winter.index("counted out") < winter.index("counted back")


def test_a_unit_that_the_kit_calls_faulty_says_so_above_all(client: httpx.Client, two: Path) -> None:
    kit = two / SHOWS[0] / "kit.toml"
    text = kit.read_text("utf-8").replace("value_each = 123.5", 'value_each = 123.5\nfaulty = { M-01 = "hums" }')
    kit.write_text(text, "utf-8")
    assert re.search(r"<b>Faulty:</b> <span dir=\"auto\">hums", client.get(f"{UNIT}/M-01").text)


def test_a_unit_that_is_not_there_and_a_show_that_cannot_be_read_are_no_trouble(
    client: httpx.Client, two: Path
) -> None:
    assert client.get(f"{UNIT}/M-99").status_code == 404
    (two / SHOWS[1] / "show.toml").write_text("title = ", "utf-8")
    (row,) = _rows(client.get(f"{UNIT}/M-01").text)
    assert "Midwinter Dance" in row

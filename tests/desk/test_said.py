"""What the plan and the takes say on the desk, in the language that a device has chosen."""

from __future__ import annotations

import re
from io import BytesIO

import httpx
from desk.pages import BASE
from pypdf import PdfReader


def test_what_the_plan_says_is_said_in_the_language_that_the_device_has_chosen(client: httpx.Client) -> None:
    """Figures, questions and letters; the words of the desk itself stay."""
    there = f"{BASE}/inputs?open=kick"
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    assert "loudest moment</span>" not in client.get(there).text
    page = client.post("/language", data={"csrf": found[1], "language": "de", "to": there}).text
    assert '<span lang="de">Mitte des Bereichs, der im lautesten Moment am Mikrofon zu erwarten ist</span>' in page
    assert '<span lang="de">Was läuft sonst am Stromkreis' in client.get(f"{BASE}/advance").text
    assert client.get(f"{BASE}/advance/venue.txt").text.startswith("An den Veranstaltungsort")
    assert "&amp;language=de" in client.get(f"{BASE}/sheets").text
    client.get(f"{BASE}/sheets?paper=letter")
    letter = PdfReader(BytesIO(client.get(f"{BASE}/advance/venue.pdf").content)).pages[0]
    assert (letter.mediabox.width, letter.mediabox.height) == (612, 792)
    assert '<option value="letter" selected>' in client.get(f"{BASE}/sheets").text

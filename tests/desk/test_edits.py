"""What is changed on a page is changed in the show's own file, and can be taken back."""

from __future__ import annotations

import re
import time
from html import unescape
from io import BytesIO
from pathlib import Path

import httpx
import numpy as np
import pytest
from openpyxl import Workbook
from pypdf import PdfReader

from fieldfare.desk.book import Book
from fieldfare.desk.planner import Planner
from fieldfare.show.toml import read_show
from fieldfare.store.revisions import save_revision
from fieldfare.store.shows import KIND
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault
from fieldfare.units.text import slug

BASE = "/shows/midwinter-dance"


def _send(client: httpx.Client, path: str, **fields: str | list[str]) -> httpx.Response:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    return client.post(path, data={"csrf": found[1], **fields})


def _show_file(folder: Path) -> Path:
    return folder / "midwinter-dance" / "show.toml"


def test_a_pin_is_written_planned_and_told_and_the_remarks_stay(client: httpx.Client, folder: Path) -> None:
    client.get(f"{BASE}/inputs")
    before = _show_file(folder).read_text("utf-8")
    page = _send(client, f"{BASE}/inputs/kick/pin", use="M-05").text
    assert "Kick: decided by hand." in page
    assert "mic or DI M-05 instead of M-01" in page
    after = _show_file(folder).read_text("utf-8")
    assert after.startswith(before.rstrip("\n"))
    assert read_show(_show_file(folder)).show.pin[0].use == "M-05"
    assert ">pinned<" in page


def test_undo_and_redo_go_back_and_forth_and_lose_nothing(client: httpx.Client, folder: Path) -> None:
    first = client.get(f"{BASE}/inputs").text
    before = read_show(_show_file(folder)).show
    assert "/undo" not in first
    _send(client, f"{BASE}/inputs/kick/pin", use="M-05")
    after = read_show(_show_file(folder)).show
    page = _send(client, f"{BASE}/undo").text
    assert read_show(_show_file(folder)).show == before
    assert "Redo revision B" in page
    _send(client, f"{BASE}/redo")
    assert read_show(_show_file(folder)).show == after
    history = client.get(f"{BASE}/history").text
    assert [letter for letter in "ABCD" if f'<th scope="row">{letter}</th>' in history] == list("ABCD")
    _send(client, f"{BASE}/history", number="1")
    assert read_show(_show_file(folder)).show == before


def test_moving_an_input_changes_places_with_the_one_that_stood_there(client: httpx.Client) -> None:
    page = _send(client, f"{BASE}/inputs/tom-1/move", number="4").text
    numbers = dict(re.findall(r'data-id="([^"]+)" data-number="(\d+)"', page))
    assert (numbers["tom-1"], numbers["tom-2"]) == ("4", "3")


@pytest.mark.parametrize(
    ("path", "fields", "says"),
    [
        ("inputs/kick/pin", {"use": "M-99"}, "M-99"),
        ("inputs/kick/pin", {"channel": "x"}, "is not the number of a channel"),
        ("inputs/kick/move", {"number": "21"}, "There is no channel 21"),
        ("inputs/kick/move", {"number": "0"}, "greater than or equal to 1"),
        ("stage/place", {"what": "source", "name": "Nobody", "x": "0", "y": "0"}, "There is no such source"),
        ("stage/place", {"what": "source", "name": "Fiddle", "x": "nan", "y": "0"}, "finite"),
        ("lineup/add", {"name": "a"}, "No source was chosen"),
        ("advance", {"document": "venue", "at": "name", "value": "x", "status": "expected"}, "There is no such fact"),
        (
            "advance",
            {"document": "venue", "at": "temperature_c", "value": "warm", "status": "expected"},
            "is not a number",
        ),
        (
            "advance",
            {"document": "venue", "at": "limiter", "value": "none", "status": "confirmed"},
            "says by whom and on which date",
        ),
        ("history", {"number": "99"}, "There is no revision 99"),
        ("kit/import", {"token": "none"}, "no longer kept"),
        ("offload", {"card": "/nowhere/at/all", "first": "a", "second": "b"}, "There is no such folder"),
    ],
)
def test_what_cannot_be_gets_one_sentence_and_changes_nothing(
    client: httpx.Client, folder: Path, path: str, fields: dict[str, str], says: str
) -> None:
    before = _show_file(folder).read_bytes()
    answer = _send(client, f"{BASE}/{path}", **fields)
    assert 400 <= answer.status_code < 500
    assert says in answer.text
    assert _show_file(folder).read_bytes() == before


def test_a_fault_of_a_form_is_told_above_it_and_what_was_typed_stays(client: httpx.Client) -> None:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    fields = {"csrf": found[1], "use": "M-99"}
    answer = client.post(f"{BASE}/inputs/kick/pin", data=fields, headers={"hx-request": "true"})
    assert answer.headers["hx-retarget"] == "#fault"
    assert "<html" not in answer.text


def test_a_line_up_is_read_shown_and_added(client: httpx.Client, folder: Path) -> None:
    read = _send(client, f"{BASE}/lineup/read", text="two fiddles, kazoo").text
    assert "2 sources understood" in read
    assert "Not understood: kazoo" in read
    added = {"take": ["0"], "name": ["Fiddle 2", "Fiddle 3"], "recipe": ["fiddle", "fiddle"]}
    _send(client, f"{BASE}/lineup/add", **added, x=["−1,5", "0"], y=["1", "0"], act="The Tidemill Stompers")
    last = read_show(_show_file(folder)).show.sources[-1]
    assert (last.name, last.at) == ("Fiddle 2", (-1.5, 1.0))


def test_what_is_said_of_a_source_besides_is_kept_as_far_as_its_kind_knows_it(
    client: httpx.Client, folder: Path
) -> None:
    read = _send(client, f"{BASE}/lineup/read", text="maybe a bouzouki with pickup").text
    assert re.search(r'name="has" value="pickup"', read)
    assert re.search(r"<option selected>possible</option>", read)
    added: dict[str, str | list[str]] = {"take": ["0", "1"], "name": ["A", "B"], "x": ["0", "1"], "y": ["1", "1"]}
    said = {"sure": ["possible", "expected"], "has": ["pickup", "pickup"], "counts": ["toms=3;", "toms=3;x=1;toms=999"]}
    _send(client, f"{BASE}/lineup/add", **added, **said, act="The Tidemill Stompers", recipe=["bouzouki", "drum kit"])
    first, second = read_show(_show_file(folder)).show.sources[-2:]
    assert (first.status, first.has, first.counts) == ("possible", ("pickup",), {})
    assert (second.status, second.has, second.counts) == ("expected", (), {"toms": 3})


def test_a_source_that_is_renamed_is_followed_by_who_doubles_with_it(client: httpx.Client, folder: Path) -> None:
    fields = {"source": "Clarinet", "name": "Κλαρινέτο", "recipe": "clarinet", "status": "confirmed"}
    assert _send(client, f"{BASE}/lineup/change", **fields).status_code == 200
    show = read_show(_show_file(folder)).show
    alto = next(one for one in show.sources if one.name == "Alto saxophone")
    assert alto.doubles_with == "Κλαρινέτο"


def test_a_fact_is_kept_in_the_venues_own_file_with_who_said_so(client: httpx.Client, folder: Path) -> None:
    fields = {"document": "venue", "at": "limiter", "value": "none", "status": "confirmed", "by": "the house"}
    page = _send(client, f"{BASE}/advance", **fields, on="2026-11-20").text
    venue = read_show(_show_file(folder)).venue
    assert (venue.limiter.value, venue.limiter.by) == ("none", "the house")
    assert "Is there a sound limiter" not in page


def test_a_file_changed_by_hand_is_seen_at_once_and_faults_are_told_by_line(client: httpx.Client, folder: Path) -> None:
    assert "Midwinter Dance, inputs" in client.get(f"{BASE}/inputs").text
    text = _show_file(folder).read_text("utf-8")
    _show_file(folder).write_text(text.replace("Midwinter Dance", "Other Dance"), "utf-8")
    assert "Other Dance, inputs" in client.get(f"{BASE}/inputs").text
    _show_file(folder).write_text(text.replace('recipe = "fiddle"', 'recipe = "fidle"'), "utf-8")
    answer = client.get(f"{BASE}/inputs")
    assert answer.status_code == 400
    assert "fidle" in answer.text


def test_a_kit_is_looked_at_row_by_row_before_it_is_used(client: httpx.Client, folder: Path) -> None:
    rows = [["thing", "item", "tags", "signal", "from_end", "to_end", "length_m"]]
    rows.append(["cable", "long cable", "Z-01..Z-03", "mic", "xlr-f", "xlr-m", "thirty"])
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None

    def sheet() -> dict[str, tuple[str, bytes]]:
        book, out = Workbook(write_only=True), BytesIO()
        page = book.create_sheet()
        for row in rows:
            page.append(row)
        book.save(out)
        return {"file": ("../../More kit.xlsx", out.getvalue())}

    wrong = client.post(f"{BASE}/kit/preview", data={"csrf": found[1]}, files=sheet()).text
    assert "row 2" in wrong
    rows[1][-1] = "30"
    right = client.post(f"{BASE}/kit/preview", data={"csrf": found[1]}, files=sheet()).text
    token = re.search(r'name="token" value="([^"]+)"', right)
    assert token is not None
    page = _send(client, f"{BASE}/kit/import", token=token[1], how="beside").text
    assert "/kit/units/Z-03" in page
    assert read_show(_show_file(folder)).show.kit == ("kit.toml", "more-kit.xlsx")
    again = client.post(f"{BASE}/kit/preview", data={"csrf": found[1]}, files=sheet()).text
    token = re.search(r'name="token" value="([^"]+)"', again)
    assert token is not None
    assert _send(client, f"{BASE}/kit/import", token=token[1], how="beside").status_code == 409


VENUE = {"venue_name": "Αίθουσα", "room_length_m": "20", "room_width_m": "10", "room_height_m": "5"} | {
    "stage_width_m": "6", "stage_depth_m": "4", "seat_x_m": "-5", "seat_y_m": "2"
}  # fmt: skip


def test_a_new_show_opens_at_its_line_up_and_its_files_keep_their_remarks(client: httpx.Client, folder: Path) -> None:
    page = _send(client, "/shows", title="Ψαράδες, summer", date="2027-06-01", **VENUE)
    key = slug("Ψαράδες, summer")
    assert page.status_code == 200
    assert "as it is said on the telephone" in page.text
    assert "# one for each stretch of music" in (folder / key / "show.toml").read_text("utf-8")
    assert key in client.get("/").text
    assert client.get(f"/shows/{key}/inputs").status_code == 200
    added = {"take": "0", "name": "Drum kit", "recipe": "drum kit", "x": "0", "y": "3", "act": "Ψαράδες"}
    assert _send(client, f"/shows/{key}/lineup/add", **added).status_code == 200


def test_a_new_show_can_use_the_kit_and_the_venue_of_another(client: httpx.Client, folder: Path) -> None:
    like = {"kit_of": "midwinter-dance", "venue_like": "midwinter-dance"}
    assert _send(client, "/shows", title="Next", date="2027-06-01", **like).status_code == 200
    read = read_show(folder / "next")
    assert read.venue.name == "Slipway Shed"
    assert read.show.kit == ("../midwinter-dance/kit.toml",)


def test_a_new_show_that_cannot_be_leaves_no_folder(client: httpx.Client, folder: Path) -> None:
    before = sorted(folder.iterdir())
    answer = _send(client, "/shows", title="Half", date="2027-06-01", venue_name="Hall")
    assert "length_m" in answer.text
    assert _send(client, "/shows", title="…", date="2027-06-01", **VENUE).status_code == 400
    assert _send(client, "/shows", title="No day").status_code == 422
    assert _send(client, "/shows", title="Midwinter dance", date="2027-06-01", **VENUE).status_code == 409
    assert sorted(folder.iterdir()) == before


def test_each_event_is_kept_once_and_heard_by_others(client: httpx.Client) -> None:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    event = {"id": "a1", "device": "phone", "kind": "checked", "about": "kick", "at": "2026-12-04T17:21:00Z"}
    for answer in ({"added": ["a1"]}, {"known": ["a1"]}):
        sent = client.post(f"{BASE}/events", json={"event": [event]}, headers={"x-csrf-token": found[1]})
        assert {key: value for key, value in sent.json().items() if value} == answer
    news = client.get(f"{BASE}/events").json()
    assert [one["id"] for one in news["event"]] == ["a1"]
    assert client.get(f"{BASE}/events?after={news['latest']}").json()["event"] == []
    assert "1 checked, 0 faulty, 19 to go" in client.get(f"{BASE}/check").text


def test_a_tag_that_is_not_on_the_list_is_asked_about(client: httpx.Client) -> None:
    fields = {"kind": "back", "about": "m-1", "must_know": "yes", "to": "count?way=back"}
    answer = _send(client, f"{BASE}/events/one", **fields)
    assert answer.status_code == 400
    assert "is not on the pack list" in answer.text
    fields["about"] = "m-01"
    assert "1 of" in _send(client, f"{BASE}/events/one", **fields).text


def test_a_line_that_fails_is_swapped_with_the_fewest_changes(client: httpx.Client, folder: Path) -> None:
    before = read_show(_show_file(folder)).show
    shown = client.get(f"{BASE}/check/kick/swap").text
    assert "do without M-01" in shown
    assert "take M-" in shown
    assert "do without channel 1" in client.get(f"{BASE}/check/kick/swap?dead=channel+1").text
    _send(client, f"{BASE}/check/kick/swap", dead="M-99")
    assert read_show(_show_file(folder)).show == before
    _send(client, f"{BASE}/check/kick/swap", dead="M-01")
    pins = {pin.input: pin for pin in read_show(_show_file(folder)).show.pin}
    assert pins["kick"].never == ("M-01",)
    assert pins["kick"].use not in ("", "M-01")
    assert pins["snare-top"].use == "M-02"
    assert "M-01 is out of use here" in client.get(f"{BASE}/kit/units/M-01").text


def test_a_letter_is_sent_and_its_reply_becomes_confirmed_facts(client: httpx.Client, folder: Path) -> None:
    letter = client.get(f"{BASE}/advance/venue.txt").text
    assert "To the venue" in letter
    assert client.get(f"{BASE}/advance/venue.pdf").content.startswith(b"%PDF")
    number = re.search(r"^(\d+)\. Is there a sound limiter", letter, re.MULTILINE)
    assert number is not None
    wrong = _send(client, f"{BASE}/advance/reply", ask="venue", text="77: yes", by="the house")
    assert wrong.status_code == 400
    assert "Question 77 is not open" in wrong.text
    page = _send(client, f"{BASE}/advance/reply", ask="venue", text=f"{number[1]}: none", by="the house").text
    assert "1 answer of the house." in page
    limiter = read_show(_show_file(folder)).venue.limiter
    assert (limiter.value, limiter.status, limiter.by) == ("none", "confirmed", "the house")
    assert "Is there a sound limiter" not in client.get(f"{BASE}/advance").text


def test_one_answer_needs_what_was_said_and_by_whom(client: httpx.Client, folder: Path) -> None:
    found = re.search(r'name="question" value="(Is there a sound limiter[^"]*)"', client.get(f"{BASE}/advance").text)
    assert found is not None
    assert _send(client, f"{BASE}/advance/answer", question=found[1], said="none").status_code == 400
    assert _send(client, f"{BASE}/advance/answer", question="Why?", said="a", by="b").status_code == 400
    assert _send(client, f"{BASE}/advance/answer", question=found[1], said="none", by="the house").status_code == 200
    assert read_show(_show_file(folder)).venue.limiter.status == "confirmed"


@pytest.mark.parametrize("name", ["inputs", "stage", "questions"])
def test_sheets_are_printed(reader: httpx.Client, name: str) -> None:
    answer = reader.get(f"{BASE}/sheets/{name}.pdf")
    assert answer.content.startswith(b"%PDF")
    assert reader.get(f"{BASE}/sheets/nothing.pdf").status_code == 404


def test_the_day_is_set_and_its_sets_are_typed(client: httpx.Client, folder: Path) -> None:
    before = read_show(_show_file(folder)).show
    page = client.get(f"{BASE}/advance").text
    assert "19:45 50 Slack Water Reel; The Caulker&#39;s Polka" in page
    fields = {"date": "2026-12-05", "doors": "18:30", "crew": "2", "sets": "20:00 45 Ένα; Two\n21:15 60"}
    assert _send(client, f"{BASE}/advance/day", **fields).status_code == 200
    show = read_show(_show_file(folder)).show
    assert (show.date.day, show.crew, show.times.load_in) == (5, 2, None)
    assert [(one.minutes, one.songs) for one in show.set] == [(45, ("Ένα", "Two")), (60, ())]
    assert show.sources == before.sources
    wrong = _send(client, f"{BASE}/advance/day", date="2026-12-05", sets="at eight")
    assert wrong.status_code == 400
    assert "sets, line 1" in wrong.text
    assert _send(client, f"{BASE}/advance/day", date="2026-12-05", doors="25:99").status_code == 400


def test_an_offload_goes_on_by_itself_and_what_it_found_is_seen_and_heard(
    client: httpx.Client, folder: Path, tmp_path: Path
) -> None:
    card, seconds = tmp_path / "card", 3
    card.mkdir()
    rate = 48_000
    tone = (np.sin(np.arange(seconds * rate) / 20) * 2**22).astype(np.int32)
    broken = tone.copy()
    broken[rate : rate + 2000] = 0
    for number, samples in ((1, tone), (2, broken)):
        write_whole(card / f"{number:02d}_{('kick', 'snare_top')[number - 1]}.wav", rate, 24, samples)
    places = {"card": str(card), "first": str(tmp_path / "a"), "second": str(tmp_path / "b"), "same_device": "yes"}
    for name in "ab":
        (tmp_path / name).mkdir()
    assert _send(client, f"{BASE}/offload", **places).status_code == 200
    for _ in range(100):
        page = client.get(f"{BASE}/offload").text
        if "Copying" not in page:
            break
        time.sleep(0.1)
    assert "Not safe to wipe the card" in page
    tracks = client.get(f"{BASE}/tracks").text
    opened = re.findall(r"tracks\?take=(\d+)&amp;open=(\d+)", tracks)
    assert opened
    take, number = opened[0]
    assert '<svg class="plot"' in client.get(f"{BASE}/tracks?take={take}&open={number}").text
    sound = client.get(f"{BASE}/tracks/{take}/{number}.wav")
    assert sound.content[:4] == b"RIFF"
    assert client.get(f"{BASE}/tracks/{take}/999.wav").status_code == 404


def test_a_source_that_sounds_while_the_band_is_silent_is_ticked_and_kept(client: httpx.Client, folder: Path) -> None:
    source = read_show(_show_file(folder)).show.sources[-1]
    fields = {"source": source.name, "name": source.name, "recipe": source.recipe, "status": source.status}
    assert "while the band is silent</span>" in _send(client, f"{BASE}/lineup/change", **fields, alone="yes").text
    assert read_show(_show_file(folder)).show.sources[-1].alone
    _send(client, f"{BASE}/lineup/change", **fields)
    assert not read_show(_show_file(folder)).show.sources[-1].alone


def test_sheets_are_printed_on_the_paper_and_in_the_language_that_were_chosen(reader: httpx.Client) -> None:
    page = reader.get(f"{BASE}/sheets?paper=letter&units=ft&language=de").text
    (address,) = re.findall(r'href="([^"]+/sheets/questions\.pdf[^"]*)"', page)
    assert unescape(address).endswith("?paper=letter&units=ft&language=de")
    german, english = (
        PdfReader(BytesIO(reader.get(f"{BASE}/sheets/questions.pdf?{asked}").content)).pages[0]
        for asked in ("paper=letter&language=de", "")
    )
    assert (german.mediabox.width, german.mediabox.height) == (612, 792)  # points: 8.5 and 11 inches of 72
    words = [sheet.extract_text() for sheet in (german, english)]
    assert "Fragen" in words[0]
    assert "Fragen" not in words[1]
    assert reader.get(f"{BASE}/sheets/questions.pdf?language=xx").status_code == 422


def test_a_kit_that_was_taken_in_goes_out_again_by_undo(client: httpx.Client, folder: Path) -> None:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get(f"{BASE}/inputs").text)
    assert found is not None
    rows = b"thing,item,tags,signal,from_end,to_end,length_m\ncable,long cable,Z-01..Z-03,mic,xlr-f,xlr-m,30\n"
    looked = client.post(f"{BASE}/kit/preview", data={"csrf": found[1]}, files={"file": ("more.csv", rows)}).text
    token = re.search(r'name="token" value="([^"]+)"', looked)
    assert token is not None
    assert "/kit/units/Z-03" in _send(client, f"{BASE}/kit/import", token=token[1], how="beside").text
    assert "The last change was taken back" in _send(client, f"{BASE}/undo").text
    assert read_show(_show_file(folder)).show.kit == ("kit.toml",)
    assert "/kit/units/Z-03" not in client.get(f"{BASE}/kit").text
    assert "done again" in _send(client, f"{BASE}/redo").text
    assert "/kit/units/Z-03" in client.get(f"{BASE}/kit").text
    _send(client, f"{BASE}/undo")
    (folder / "midwinter-dance" / "more.csv").unlink()
    assert "more.csv" in _send(client, f"{BASE}/redo").text
    assert read_show(_show_file(folder)).show.kit == ("kit.toml",)


def test_a_revision_of_another_version_of_the_program_is_told_as_that(folder: Path) -> None:
    book = Book(folder / "midwinter-dance", Planner(explain=False))
    try:
        read, _ = book.documents()
        body = {"show": {**read.show.model_dump(mode="json"), "tempo": 1}, "venue": read.venue.model_dump(mode="json")}
        old = save_revision(book.store, KIND, read.show.title, body)
        with pytest.raises(Fault, match=f"revision {old.letter} was saved by another version of the program"):
            book.go_to(old.number, "")
    finally:
        book.close()


def test_a_page_says_whose_word_keeps_pictures_out_of_a_parcel(client: httpx.Client, folder: Path) -> None:
    show = folder / "midwinter-dance"
    for name in ("roughs/mix.mp3", "pictures/camera.mp4"):
        (show / name).parent.mkdir()
        (show / name).write_bytes(b"")
    who = re.findall(r'name="who" value="([^"]+)"', client.get(f"{BASE}/handover").text)
    asked: dict[str, str | list[str]] = {"how": "mail", "on": "2026-11-01", "who": who}
    page = _send(client, f"{BASE}/handover/consent", **asked, use="recording").text
    assert "Pictures stay out of it: drummer: no consent for pictures" in page
    page = _send(client, f"{BASE}/handover/consent", **asked, use=["recording", "pictures"]).text
    assert "Pictures stay out of it" not in page

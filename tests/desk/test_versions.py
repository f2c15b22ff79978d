"""What a person set of the songs and of a mix can be undone and done again, as an edit of the plan can."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest
from desk.recorded import with_songs

from fieldfare.desk.song_edits import mark_of
from fieldfare.show.mix import REMARK, SHEET_FILE, MixSheet, MixSong, MixTrack, read_mix
from fieldfare.show.songs import read_songs
from fieldfare.show.write_toml import write_toml

BASE = "/shows/midwinter-dance"
MIX = MixSheet(
    take="take-1",
    rate_hz=48_000,
    track=(MixTrack(label="Kick", role="close", gain_db=(0.0,)), MixTrack(label="Snare", role="close", gain_db=(0.0,))),
    song=(MixSong(title="Nine Oars", start=0, end=480_000),),
)


@pytest.fixture
def show(folder: Path) -> Path:
    """The demo with two songs found and a mix chosen."""
    show = folder / "midwinter-dance"
    with_songs(show, "take-1", 2)
    (show / "roughs" / "take-1").mkdir(parents=True)
    write_toml(MIX, show / "roughs" / "take-1" / SHEET_FILE, REMARK)
    return show


def _send(client: httpx.Client, path: str, **fields: str) -> httpx.Response:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    return client.post(f"{BASE}/{path}", data={"csrf": found[1], **fields})


def test_what_was_set_of_a_song_is_undone_and_done_again(client: httpx.Client, show: Path) -> None:
    assert "/songs/undo" not in client.get(f"{BASE}/songs").text
    song = {"take": "0", "start": "0:00:01", "end": "0:00:02", "keep": "yes"}
    for said in ("Low Water", "High Water"):
        mark = mark_of(read_songs(show / "songs.toml").take[0].song[0])
        assert _send(client, "songs/change", title=said, mark=mark, **song).status_code == 200

    def title() -> str:
        return read_songs(show / "songs.toml").take[0].song[0].title

    assert title() == "High Water"
    assert "/songs/redo" not in client.get(f"{BASE}/songs").text
    _send(client, "songs/undo")
    assert title() == "Low Water"
    page = _send(client, "songs/undo").text
    assert title() == "Song 1"
    assert "/songs/redo" in page
    assert "/songs/undo" not in page
    assert "nothing to undo" in _send(client, "songs/undo").text.casefold()
    _send(client, "songs/redo")
    assert title() == "Low Water"


def test_songs_that_were_changed_in_the_file_can_be_taken_back_too(client: httpx.Client, show: Path) -> None:
    client.get(f"{BASE}/songs")
    with_songs(show, "take-1", 3)
    client.get(f"{BASE}/songs")
    _send(client, "songs/undo")
    assert len(read_songs(show / "songs.toml").take[0].song) == 2


def test_what_was_set_of_a_mix_is_undone_and_its_remarks_stay(client: httpx.Client, show: Path) -> None:
    file = show / "roughs" / "take-1" / SHEET_FILE
    file.write_text(file.read_text("utf-8").replace("[[song]]", "# the band asked for this\n[[song]]", 1), "utf-8")
    assert "/rough/undo" not in client.get(f"{BASE}/rough").text
    page = _send(client, "rough/adjust", **{"take": "0", "trim_db 0": "-3", "mute 1": "yes"}).text
    assert [(one.trim_db, one.mute) for one in read_mix(file).track] == [(-3.0, False), (0.0, True)]
    assert "Undo the settings" in page
    _send(client, "rough/undo", take="0")
    assert read_mix(file) == MIX
    assert "# the band asked for this" in file.read_text("utf-8")
    _send(client, "rough/redo", take="0")
    assert read_mix(file).track[0].trim_db == -3.0
    assert _send(client, "rough/undo", take="7").status_code == 404

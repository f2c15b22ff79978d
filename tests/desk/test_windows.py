"""Two windows over one show: what one of them shows from before never undoes what was set in the other since."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest
from desk.recorded import with_songs

from fieldfare.show.alignment import Alignment, Shift, TakeAlignment
from fieldfare.show.mix import REMARK, SHEET_FILE, MixSheet, MixSong, MixTrack, read_mix
from fieldfare.show.songs import read_songs
from fieldfare.show.write_toml import write_toml
from fieldfare.takes.alignment.kept import keep_alignment, kept_alignment

BASE = "/shows/midwinter-dance"


@pytest.fixture
def show(folder: Path, after: Path) -> Path:
    """The demo after its night, with two songs, a mix and shifts that are offered."""
    with_songs(after, "take-1", 2)
    track = tuple(MixTrack(label=label, role="close", gain_db=(0.0,)) for label in ("Kick", "Snare top"))
    (after / "roughs" / "take-1").mkdir(parents=True)
    mix = MixSheet(take="take-1", rate_hz=48_000, track=track, song=(MixSong(title="Song 1", start=0, end=48_000),))
    write_toml(mix, after / "roughs" / "take-1" / SHEET_FILE, REMARK)
    _offer(after, 12.0)
    return after


def _offer(show: Path, samples: float) -> None:
    shifts = tuple(Shift(track=label, apply=False, samples=samples) for label in ("Kick", "Snare top"))
    keep_alignment(show, Alignment(take=(TakeAlignment(take="take-1", rate_hz=48_000, frames=1, shift=shifts),)))


def _hidden(page: str, action: str) -> dict[str, str]:
    """Return what the first form carries unseen whose address ends like this."""
    form = re.search(rf'<form[^>]*action="[^"]*/{action}".*?</form>', page, re.DOTALL)
    assert form is not None
    return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form[0]))


def _send(client: httpx.Client, path: str, fields: dict[str, str]) -> httpx.Response:
    return client.post(f"{BASE}/{path}", data=fields)


def test_a_song_is_moved_though_another_was_put_in_before_it(client: httpx.Client, show: Path) -> None:
    first = _hidden(client.get(f"{BASE}/songs?take=0&song=2").text, "songs/move")
    added = {"csrf": first["csrf"], "take": "0", "title": "Opener", "start": "0:00:00", "end": "0:00:00.500"}
    assert _send(client, "songs/add", added).status_code == 200
    assert _send(client, "songs/move", {**first, "by_s": "0.25"}).status_code == 200
    starts = {song.title: song.start for song in read_songs(show / "songs.toml").take[0].song}
    assert starts == {"Opener": 0, "Song 1": 48_000, "Song 2": 108_000}


def test_a_song_that_was_changed_meanwhile_is_not_changed_by_a_window_from_before(
    client: httpx.Client, show: Path
) -> None:
    first = _hidden(client.get(f"{BASE}/songs?take=0&song=1").text, "songs/change")
    for title, status in (("High Water", 200), ("Low Water", 400)):
        answer = _send(client, "songs/change", {**first, "title": title})
        assert answer.status_code == status
    assert "changed meanwhile" in answer.text
    assert read_songs(show / "songs.toml").take[0].song[0].title == "High Water"


def test_what_two_windows_set_of_a_mix_holds_together(client: httpx.Client, show: Path) -> None:
    file = show / "roughs" / "take-1" / SHEET_FILE
    first = _hidden(client.get(f"{BASE}/rough").text, "rough/adjust")
    shown = {"trim_db 0": "0", "pan 0": "0", "trim_db 1": "0", "pan 1": "0"}
    assert _send(client, "rough/adjust", {**first, **shown, "trim_db 0": "-3", "mute 0": "yes"}).status_code == 200
    assert _send(client, "rough/adjust", {**first, **shown, "pan 1": "0,5"}).status_code == 200
    kick, snare = read_mix(file).track
    assert (kick.trim_db, kick.mute, snare.pan, snare.mute) == (-3.0, True, 0.5, False)
    now = _hidden(client.get(f"{BASE}/rough").text, "rough/adjust")
    assert now["was mute 0"] == "yes"
    assert _send(client, "rough/adjust", {**now, **shown, "trim_db 0": "-3", "pan 1": "0.5"}).status_code == 200
    assert not read_mix(file).track[0].mute  # its tick was taken out


def test_what_two_windows_accept_of_the_shifts_holds_together(client: httpx.Client, show: Path) -> None:
    first = _hidden(client.get(f"{BASE}/timing").text, "timing/accept")
    for track in ("Kick", "Snare top"):
        assert _send(client, "timing/accept", {**first, "track": track}).status_code == 200
    assert _accepted(show) == ["Kick", "Snare top"]
    assert _send(client, "timing/accept", {**first, "was": "Kick"}).status_code == 200
    assert _accepted(show) == ["Snare top"]
    _offer(show, 13.0)
    answer = _send(client, "timing/accept", {**first, "track": "Kick"})
    assert answer.status_code == 400
    assert "measured again meanwhile" in answer.text
    assert _accepted(show) == []


def _accepted(show: Path) -> list[str]:
    kept = kept_alignment(show)
    assert kept is not None
    return [one.track for one in kept.take[0].shift if one.apply]

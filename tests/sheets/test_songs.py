"""The sheet of songs: every edge is on it where it was cut, and the page sets."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from takes.songs.night import LONG_S, SONGS_S, play_night

from fieldfare.sheets.head import Printing
from fieldfare.sheets.songs import ROW_S, song_sheet, write_song_sheet
from fieldfare.show.night_marks import ClockMark
from fieldfare.takes.songs.night_songs import Asked, Night, songs_of

PRINTED = dt.datetime(2026, 12, 5, 11, 0)


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Night:
    folder = play_night(tmp_path_factory.mktemp("night"))
    marks = (ClockMark(at_s=10.0, of_take=True, text="Σ" * 60),)
    return songs_of(folder, Asked(show="A night", marks=marks))


def test_songs_lie_along_the_take_where_they_are(night: Night) -> None:
    (page,) = song_sheet(night, Printing("a4", PRINTED)).pages
    (strip,) = page.strips
    assert LONG_S < ROW_S
    for song, (begin, end) in zip(strip.songs, SONGS_S, strict=True):
        assert song.start * LONG_S == pytest.approx(begin, abs=0.2)
        assert song.end * LONG_S == pytest.approx(end, abs=0.2)
        played = [share for at, share in strip.playing if begin + 3 < at * LONG_S < end - 3]
        assert min(played) > 0.7
    (mark,) = strip.marks
    assert mark.at * LONG_S == pytest.approx(10.0, abs=0.01)
    assert len(page.close) == 2 * len(SONGS_S)
    assert all(len(close.lines) == len(close.names) for close in page.close)


def test_the_page_sets_with_a_song_and_without(night: Night, tmp_path: Path) -> None:
    (path,) = write_song_sheet(night, tmp_path, Printing("a4", PRINTED))
    assert path.read_bytes().startswith(b"%PDF")
    (take,) = night.book.take
    bare = night.book.model_copy(update={"take": (take.model_copy(update={"song": ()}),)})
    (path,) = write_song_sheet(Night(bare, night.heard), tmp_path / "bare", Printing("letter", PRINTED))
    assert path.read_bytes().startswith(b"%PDF")

"""Songs of a night whose edges are written down are found, and what a person sets stays while the rest does."""

from __future__ import annotations

from pathlib import Path

import pytest
from takes.songs.night import LONG_S, ORIGIN, RATE_HZ, SONGS_S, play_night

from fieldfare.show.night_marks import ClockMark
from fieldfare.show.songs import ListedSong, Song, SongBook, read_songs, write_songs
from fieldfare.takes.axis import find_axes
from fieldfare.takes.songs.clocks import clocks_apart_s, moved, on_axes
from fieldfare.takes.songs.find import find_songs
from fieldfare.takes.songs.listen import Heard, listen

LISTED = tuple(ListedSong(title=title, length_s=length) for title, length in (("One", 18), ("Two", 23), ("Three", 33)))


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> tuple[Heard, ...]:
    folder = play_night(tmp_path_factory.mktemp("night"))
    return tuple(listen(axis) for axis in find_axes(folder))


def _changed(book: SongBook, place: int, **changes: object) -> SongBook:
    (take,) = book.take
    songs = [song.model_copy(update=changes) if at == place else song for at, song in enumerate(take.song)]
    return book.model_copy(update={"take": (take.model_copy(update={"song": tuple(songs)}),)})


def _edges(book: SongBook) -> list[tuple[int, int]]:
    return [(song.start, song.end) for take in book.take for song in take.song if song.keep]


def test_every_song_is_found_where_it_is(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED, show="A night")
    assert [song.title for song in book.take[0].song] == ["One", "Two", "Three"]
    for (start, end), (begin_s, end_s) in zip(_edges(book), SONGS_S, strict=True):
        assert start / RATE_HZ == pytest.approx(begin_s, abs=0.1)
        assert end / RATE_HZ == pytest.approx(end_s, abs=0.1)
    assert book.not_played == ()
    assert any(gap.kind == "talk" for gap in book.take[0].between)


def test_a_moved_point_stays_to_the_sample_and_all_other_points_stay(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED)
    moved = find_songs(heard, LISTED, kept=_changed(book, 1, start=37 * RATE_HZ + 3))
    assert moved.take[0].song[1].start == 37 * RATE_HZ + 3
    assert moved.take[0].song[1].found_start == book.take[0].song[1].start
    assert moved.take[0].song[1].by_hand == ("start",)
    others = [edge for place, edge in enumerate(_edges(moved)) if place != 1]
    assert others == [edge for place, edge in enumerate(_edges(book)) if place != 1]
    assert moved.take[0].song[1].end == book.take[0].song[1].end
    again = find_songs(heard, LISTED, kept=moved)
    assert again == moved


def test_a_song_taken_out_is_not_found_again_and_its_title_was_not_played(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED)
    without = find_songs(heard, LISTED, kept=_changed(book, 0, keep=False))
    assert [song.title for song in without.take[0].song if song.keep] == ["Two", "Three"]
    assert "One" in without.not_played
    assert _edges(without) == _edges(book)[1:]


def test_a_song_put_in_by_hand_is_one_whatever_was_heard(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED)
    (take,) = book.take
    own = Song(title="Spoken", start=64 * RATE_HZ + 7, end=70 * RATE_HZ + 11)
    kept = book.model_copy(update={"take": (take.model_copy(update={"song": (*take.song, own)}),)})
    with_own = find_songs(heard, LISTED, kept=kept)
    assert [song.title for song in with_own.take[0].song] == ["One", "Two", "Spoken", "Three"]
    assert (64 * RATE_HZ + 7, 70 * RATE_HZ + 11) in _edges(with_own)
    assert [edge for edge in _edges(with_own) if edge in _edges(book)] == _edges(book)


def test_a_title_given_by_hand_holds_even_out_of_the_lists_order(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED)
    named = find_songs(heard, LISTED, kept=_changed(book, 0, title="Three"))
    assert named.take[0].song[0].title == "Three"
    assert named.take[0].song[0].listed == 3
    assert [song.title for song in named.take[0].song][1:] != ["Two", "Three"]
    assert len({song.title for song in named.take[0].song}) == 3


def test_a_song_cut_in_two_by_hand_is_two(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED)
    (take,) = book.take
    own = Song(title="Second half", start=50 * RATE_HZ, end=take.song[1].end)
    first = take.song[1].model_copy(update={"end": 50 * RATE_HZ})
    songs = (take.song[0], first, own, take.song[2])
    halves = find_songs(
        heard, LISTED, kept=book.model_copy(update={"take": (take.model_copy(update={"song": songs}),)})
    )
    assert _edges(halves)[1][1] == _edges(halves)[2][0] == 50 * RATE_HZ


def test_a_mark_of_the_night_lies_where_the_recorders_clock_says(heard: tuple[Heard, ...]) -> None:
    axes = [one.axis for one in heard]
    at_s = ORIGIN / RATE_HZ + 45
    marks, lost = on_axes(
        [ClockMark(at_s=at_s, text="Two"), ClockMark(at_s=12.0), ClockMark(at_s=3, of_take=True)], axes
    )
    assert [mark.sample for mark in marks] == [45 * RATE_HZ, 3 * RATE_HZ]
    assert len(lost) == 1
    pulled = find_songs(heard, [ListedSong(title=one.title) for one in LISTED], marks[:1])
    plain = find_songs(heard, [ListedSong(title=one.title) for one in LISTED])
    assert pulled.take[0].song[1].title == "Two"
    assert pulled.take[0].song[1].title_confidence > plain.take[0].song[1].title_confidence


def test_a_recorders_clock_that_is_minutes_off_is_found_by_the_marks(heard: tuple[Heard, ...]) -> None:
    axes, book = [one.axis for one in heard], find_songs(heard, LISTED)
    true_s = [ORIGIN / RATE_HZ + begin + late for (begin, _), late in zip(SONGS_S, (1.0, 3.0, 2.0), strict=True)]
    assert clocks_apart_s([ClockMark(at_s=at) for at in true_s], axes, book) == 0.0
    off = [ClockMark(at_s=at - 187.0) for at in true_s]
    assert clocks_apart_s(off, axes, book) == pytest.approx(187.0, abs=8.0)
    assert clocks_apart_s(off[:2], axes, book) == 0.0
    placed, lost = on_axes(moved(off, clocks_apart_s(off, axes, book)), axes)
    assert len(placed) == 3
    assert not lost


def test_the_document_is_read_as_it_was_written_and_keeps_remarks(heard: tuple[Heard, ...], tmp_path: Path) -> None:
    book, path = find_songs(heard, LISTED, show="A night"), tmp_path / "songs.toml"
    write_songs(path, book)
    assert read_songs(path) == book
    text = path.read_text("utf-8")
    start = f"\nstart = {book.take[0].song[1].start:_}\n"
    assert start in text
    path.write_text(text.replace(start, '\nstart = "0:00:37.5"  # the drummer was late\n'), "utf-8")
    kept = read_songs(path)
    assert kept.take[0].song[1].start == round(37.5 * RATE_HZ)
    write_songs(path, find_songs(heard, LISTED, show="A night", kept=kept))
    assert "# the drummer was late" in path.read_text("utf-8")
    assert read_songs(path).take[0].song[1].by_hand == ("start",)


def test_songs_lie_within_their_take(heard: tuple[Heard, ...]) -> None:
    book = find_songs(heard, LISTED)
    far = find_songs(heard, LISTED, kept=_changed(book, 2, end=LONG_S * RATE_HZ + 500))
    assert far.take[0].song[2].end == LONG_S * RATE_HZ
